"""Keys and tools, harvest given away, hours and inspections on their pages."""

import re
from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from lifecycle.models import (
    GivenAway,
    Person,
    Tool,
    ToolLoan,
    WorkHours,
)
from lifecycle.records.ground.shed import add_tool, take_out
from lifecycle.web.forms.fields import MeasureField
from lifecycle.web.forms.giving import WEIGHT, TimeGivenField
from lifecycle.web.year.amounts import hours_words, weight
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, PlaceFactory, SiteFactory

pytestmark = pytest.mark.django_db
SignIn = Callable[[object], Client]
TODAY = NOON.date()


def read(response: Any) -> str:
    return " ".join(response.content.decode().split())


def queries(page: Client, address: str) -> int:
    with CaptureQueriesContext(connection) as found:
        assert page.get(address).status_code == 200
    return len(found)


def a_tool(world: World, name: str = "Loppers 1") -> Tool:
    return add_tool(world.coordinator, world.site, kind="tool", name=name, kept_in="Shed", note="")


ROLES = ("owner", "coordinator", "member", "committee", "outsider")
READ = {
    "tools": (200, 200, 200, 200, 404),
    "given-away": (200, 200, 200, 200, 404),
    "hours": (200, 200, 200, 403, 404),
    "inspections": (200, 200, 403, 403, 404),
}


@pytest.mark.parametrize("path", READ)
@pytest.mark.parametrize("who", ROLES)
def test_who_reads_what(world: World, as_person: SignIn, path: str, who: str) -> None:
    status = as_person(getattr(world, who)).get(f"{world.address}{path}").status_code
    assert status == READ[path][ROLES.index(who)]


@pytest.mark.parametrize("path", ["tools", "given-away", "inspections", "hours"])
def test_rows_of_another_garden_are_not_there(world: World, as_person: SignIn, path: str) -> None:
    site = SiteFactory()
    place = PlaceFactory(site=site)
    tool = Tool.objects.create(garden=site.garden, site=site, name="Elsewhere")
    page = as_person(world.owner)
    assert page.get(f"{world.address}tools/{tool.pk}").status_code == 404
    assert page.post(f"{world.address}tools/{tool.pk}", {"act": "take"}).status_code == 404
    assert page.get(f"{world.address}beds/{place.pk}/inspect").status_code == 404
    assert "Elsewhere" not in read(page.get(f"{world.address}{path}"))


# --- keys and tools ----------------------------------------------------------------------------


def test_a_member_takes_a_tool_out_and_brings_it_back(world: World, as_person: SignIn) -> None:
    tool = a_tool(world)
    page, address = as_person(world.member), f"{world.address}tools/{tool.pk}"
    assert "In its place: Shed" in read(page.get(f"{world.address}tools"))
    taken = page.post(address, {"act": "take", "from": "list"})
    assert taken["Location"] == f"{world.address}tools"
    assert "you have 1 of 1" in read(page.get(f"{world.address}tools"))
    assert "Loppers 1: you have it" in read(page.get(address))
    other = read(as_person(world.committee).get(f"{world.address}tools"))
    assert "Member has it since 14 October" in other
    assert page.post(address, {"act": "back"})["Location"] == address
    assert "not back yet" not in read(page.get(address))
    assert ToolLoan.objects.get().back_at == NOON
    assert page.post(address, {"act": "back"}).status_code == 302


def test_who_comes_second_reads_who_has_it(world: World, as_person: SignIn) -> None:
    tool = a_tool(world)
    take_out(world.member, tool, now=NOON)
    page, address = as_person(world.owner), f"{world.address}tools/{tool.pk}"
    refused = page.post(address, {"act": "take"})
    assert refused.status_code == 422
    assert "Member has Loppers 1 since 14 October" in read(refused)
    assert page.post(address, {"act": "retire"}).status_code == 422
    assert page.post(address, {"act": "back"}).status_code == 302
    assert page.post(address, {"act": "retire"})["Location"] == f"{world.address}tools"
    assert "not on the list any more" in read(page.get(address))


@pytest.mark.parametrize("act", ["take", "back", "retire", "", "nonsense"])
def test_what_a_reader_or_a_stranger_may_not_do(world: World, as_person: SignIn, act: str) -> None:
    tool = a_tool(world)
    address = f"{world.address}tools/{tool.pk}"
    assert as_person(world.committee).post(address, {"act": act}).status_code == 403
    assert as_person(world.outsider).post(address, {"act": act}).status_code == 404
    another = MembershipFactory(garden=world.garden)
    take_out(another, tool, now=NOON)
    expected = 422 if act == "take" else 403
    assert as_person(world.member).post(address, {"act": act}).status_code == expected


def test_who_leads_adds_and_changes_what_is_on_the_list(world: World, as_person: SignIn) -> None:
    page, address = as_person(world.coordinator), f"{world.address}tools"
    given = {"kind": "key", "name": "Gate", "kept_in": "", "note": "", "site": world.site.pk}
    assert page.post(address, given).status_code == 302
    again = page.post(address, given)
    assert again.status_code == 422
    assert "on the list of Canal bank already" in read(again)
    elsewhere = page.post(address, {**given, "name": "Other", "site": SiteFactory().pk})
    assert elsewhere.status_code == 422
    tool = Tool.objects.get()
    changed = page.post(f"{address}/{tool.pk}", {**given, "name": "Gate, old"})
    assert changed.status_code == 302
    assert Tool.objects.get().name == "Gate, old"
    assert as_person(world.member).post(address, given).status_code == 403
    assert "Add a key or a tool" not in read(as_person(world.member).get(address))


def test_queries_do_not_grow_with_tools(world: World, as_person: SignIn) -> None:
    page = as_person(world.member)
    take_out(world.member, a_tool(world), now=NOON)
    few = queries(page, f"{world.address}tools")
    for number in range(2, 20):
        take_out(world.owner, a_tool(world, f"Loppers {number}"), now=NOON)
    assert queries(page, f"{world.address}tools") == few


# --- harvest given away ------------------------------------------------------------------------


def gift(world: World, **more: Any) -> dict[str, Any]:
    return {
        "uuid": uuid4(),
        "grams": "2.5 kg",
        "to": "food_bank",
        "species": "",
        "given_on": TODAY.isoformat(),
        "site": world.site.pk,
        "note": "",
        **more,
    }


@pytest.mark.parametrize(
    ("typed", "length", "grams"),
    [
        ("340", "cm", 340),
        ("2.5 kg", "cm", 2500),
        ("2,5 kg", "cm", 2500),
        ("12 oz", "cm", 340),
        ("3 lb", "cm", 1361),
        ("12", "in", 340),
        ("500 g", "in", 500),
    ],
)
def test_a_weight_is_typed_in_the_readers_unit_or_its_own(
    world: World, as_person: SignIn, typed: str, length: str, grams: int
) -> None:
    world.member.person.length = length
    world.member.person.save(update_fields=["length"])
    page = as_person(world.member)
    assert page.post(f"{world.address}given-away", gift(world, grams=typed)).status_code == 302
    assert GivenAway.objects.get().grams == grams


def test_what_was_given_is_added_up_and_struck(world: World, as_person: SignIn) -> None:
    page, address = as_person(world.member), f"{world.address}given-away"
    sent = gift(world)
    page.post(address, sent)
    page.post(address, sent)
    page.post(address, gift(world, grams="300 g", to="neighbours"))
    text = read(page.get(address))
    assert "2.8 kg of harvest given away in growing year 2026" in text
    assert "Give only what you would eat yourself" in text
    row = GivenAway.objects.get(to="neighbours")
    other = as_person(MembershipFactory(garden=world.garden))
    assert other.post(address, {"act": "strike", "given": row.pk}).status_code == 403
    assert f'value="{row.pk}"' not in read(other.get(address))
    page.post(address, {"act": "strike", "given": row.pk})
    text = read(page.get(address))
    assert "2.5 kg of harvest given away" in text
    assert "struck" in text
    assert GivenAway.objects.count() == 2


@pytest.mark.parametrize(
    "wrong",
    [
        {"grams": ""},
        {"grams": "some"},
        {"grams": "0"},
        {"to": "x"},
        {"given_on": "2026-10-15"},
        {"given_on": "soon"},
        {"site": "0"},
        {"uuid": "x"},
        {"species": "mango"},
    ],
)
def test_a_gift_that_cannot_be_is_refused(
    world: World, as_person: SignIn, wrong: dict[str, str]
) -> None:
    page = as_person(world.member)
    refused = page.post(f"{world.address}given-away", gift(world, **wrong))
    assert refused.status_code == 422
    assert "Error: " in read(refused)
    assert not GivenAway.objects.exists()


@pytest.mark.parametrize("given", ["", "x", "99999999999", "0"])
def test_what_is_not_there_cannot_be_struck(world: World, as_person: SignIn, given: str) -> None:
    posted = as_person(world.owner).post(
        f"{world.address}given-away", {"act": "strike", "given": given}
    )
    assert posted.status_code == 404


def test_gifts_are_listed_by_growing_year(world: World, as_person: SignIn) -> None:
    page, address = as_person(world.member), f"{world.address}given-away"
    page.post(address, gift(world, given_on="2025-12-31"))
    text = read(page.get(address))
    assert "No harvest given away in growing year 2026" in text
    assert "?year=2025" in text
    assert "2.5 kg of harvest given away in growing year 2025" in read(
        page.get(f"{address}?year=2025")
    )
    assert page.get(f"{address}?year=nonsense").status_code == 200


def test_queries_do_not_grow_with_gifts(world: World, as_person: SignIn) -> None:
    page, address = as_person(world.member), f"{world.address}given-away"
    page.post(address, gift(world))
    few = queries(page, address)
    for _ in range(15):
        page.post(address, gift(world))
    assert queries(page, address) == few


@pytest.mark.parametrize(
    ("grams", "metric", "inches"),
    [(340, "340 g", "12 oz"), (1000, "1 kg", "2.2 lb"), (123456, "123.5 kg", "272.2 lb")],
)
def test_weights_in_words(world: World, grams: int, metric: str, inches: str) -> None:
    person = world.member.person
    assert weight(grams, person) == metric
    person.length = "in"
    assert weight(grams, person) == inches


# --- hours -------------------------------------------------------------------------------------


@pytest.fixture
def ledger(world: World) -> World:
    world.garden.hours_ledger = True
    world.garden.save(update_fields=["hours_ledger"])
    return world


def test_a_garden_without_a_ledger_says_so(world: World, as_person: SignIn) -> None:
    page, address = as_person(world.member), f"{world.address}hours"
    text = read(page.get(address))
    assert "This garden keeps no hours" in text
    assert "<form" not in text
    sent = {"uuid": uuid4(), "minutes": "1.5", "worked_on": TODAY.isoformat(), "what": ""}
    assert page.post(address, sent).status_code == 422
    assert not WorkHours.objects.exists()


def test_only_ones_own_hours_are_seen_and_struck(ledger: World, as_person: SignIn) -> None:
    address = f"{ledger.address}hours"
    for who, what in ((ledger.member, "Paths"), (ledger.owner, "Secret compost")):
        sent = {"uuid": uuid4(), "minutes": "1:30", "worked_on": TODAY.isoformat(), "what": what}
        page = as_person(who)
        page.post(address, sent)
        page.post(address, sent)
    text = read(as_person(ledger.member).get(address))
    assert "Your hours: 1 h 30 min in growing year 2026" in text
    assert "Paths" in text
    assert "Secret" not in text
    theirs = WorkHours.objects.get(what="Secret compost")
    posted = as_person(ledger.member).post(address, {"act": "strike", "row": theirs.pk})
    assert posted.status_code == 404
    own = WorkHours.objects.get(what="Paths")
    as_person(ledger.member).post(address, {"act": "strike", "row": own.pk})
    assert "Your hours: 0 min" in read(as_person(ledger.member).get(address))


@pytest.mark.parametrize(
    ("typed", "minutes"),
    [
        ("1.5", 90),
        ("1,5", 90),
        ("2", 120),
        ("1:30", 90),
        ("0:05", 5),
        ("45 min", 45),
        ("45min.", 45),
        ("1 h 30", 90),
        ("1h30 min", 90),
        ("2 hours", 120),
        ("24", 1440),
    ],
)
def test_time_as_people_write_it(typed: str, minutes: int) -> None:
    assert TimeGivenField().clean(typed) == minutes


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        *((typed, "Time: give hours such as") for typed in ("", "1:60", "-1", "an hour", "½")),
        *((typed, "Time: that is no time.") for typed in ("0", "0:00", "0 min")),
        ("25", "Time: 25 h is more than a day has. For minutes write min after them"),
        ("90", "Time: 90 h is more than a day has."),
        ("1441 min", "Time: 24 h 1 min is more than a day has."),
    ],
)
def test_time_that_nobody_can_give(typed: str, said: str) -> None:
    with pytest.raises(Exception, match=re.escape(said)):
        TimeGivenField().clean(typed)


@pytest.mark.parametrize(
    ("length", "said"),
    [("cm", "Weight: give 1 g to 1000 kg."), ("in", "Weight: give 0.0353 oz to 2200 lb.")],
)
def test_the_heaviest_gift_is_said_in_plain_numbers(length: str, said: str) -> None:
    field = MeasureField(WEIGHT, Person(length=length))
    for typed in ("0", "2000000 kg", "much"):
        with pytest.raises(Exception, match=re.escape(said)):
            field.clean(typed)


@pytest.mark.parametrize(
    ("minutes", "words"), [(0, "0 min"), (45, "45 min"), (120, "2 h"), (125, "2 h 5 min")]
)
def test_time_in_words(minutes: int, words: str) -> None:
    assert hours_words(minutes) == words

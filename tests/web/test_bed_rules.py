"""Pages for bed rules: seen before they are saved, refused at their field, followed at once."""

from collections.abc import Callable
from datetime import date

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from lifecycle.care.bed_rules import BedRules
from lifecycle.models import Place, Plant, Site, Task
from lifecycle.records.ground.bed_rules import as_rules, set_bed_rules, set_site_rules
from lifecycle.reminders.work.rules_ahead import Standing
from lifecycle.reminders.work.worklist import plan_all
from lifecycle.web.ground.bed_rules import ahead_words
from tests.conftest import World
from tests.factories import NOON, PlaceFactory, SiteFactory, a_plant
from tests.reminders.climates import give_climate

SignIn = Callable[..., Client]
SAVE = {"clear_by": "15 October", "perennials_in_ground": "on", "plots_kept": "on"}


@pytest.fixture
def lead(world: World, as_person: SignIn) -> Client:
    return as_person(world.coordinator)


@pytest.fixture
def page(world: World) -> str:
    return f"{world.address}sites/{world.site.pk}/bed-rules"


@pytest.fixture
def bed(world: World) -> str:
    return f"{world.address}beds/{world.bed.pk}"


def text_of(client: Client, address: str) -> str:
    answer = client.get(address)
    assert answer.status_code == 200
    return answer.content.decode()


def rules_of(world: World) -> BedRules:
    return as_rules(Place.objects.select_related("site").get(pk=world.bed.pk).rules)


def test_rules_of_a_site_are_typed_with_the_month_as_a_word(
    world: World, lead: Client, page: str, bed: str
) -> None:
    assert "No rule: beds need not be cleared" in text_of(lead, page)
    sent = lead.post(page, {"clear_by": "15 October", "plots_kept": "on"})
    assert sent["Location"] == f"{page}?planned=1"
    assert rules_of(world) == BedRules((10, 15), False, True)
    text = text_of(lead, sent["Location"])
    assert "The rules are saved. 1 plant or sowing will be planned anew" in text
    assert 'value="15 October"' in text
    words = "Must be clear by 15 October each year. No perennials in the ground over winter."
    assert words in text
    assert words in text_of(lead, bed)


def test_what_changes_is_shown_and_not_saved(world: World, lead: Client, page: str) -> None:
    warm = {"half_zone": "9b", "last_freeze": "02-10", "first_freeze": "12-10"}
    give_climate(world, **warm, warm_from="04-01", cool_from="11-01")
    a_plant(world.member, PlaceFactory(site=world.site))
    answer = lead.post(page, {**SAVE, "act": "look"})
    text = answer.content.decode()
    assert answer.status_code == 200
    assert (
        "2 plants in 2 beds must be out by 15 October; 2 of them were to stay in the ground."
        in text
    )
    assert "Nothing is saved yet." in text
    assert 'value="15 October"' in text
    assert rules_of(world) == BedRules()


@pytest.mark.parametrize(
    ("rules", "said"),
    [
        (BedRules((10, 15)), "3 plants in 1 bed must be out by 15 October; 1 of them was to stay"),
        (BedRules(None, False), "Of 3 plants in 1 bed, 1 would have stayed in the ground and"),
        (BedRules(), "3 plants in 1 bed: none has to leave."),
        (
            BedRules(None, True, False),
            "none has to leave. Each plan says that the plot may pass on.",
        ),
    ],
)
def test_what_changes_in_words(rules: BedRules, said: str) -> None:
    assert said in ahead_words(Standing(3, 1, 1), rules)
    nobody = ahead_words(Standing(3, 2, 0), rules)
    assert "none of them was to stay" in nobody or "none would" in nobody or "none has" in nobody
    assert ahead_words(Standing(0, 0, 0), rules).startswith("No plant stands in these beds now.")


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("29 February", "29 February comes once in four years. Give 28 February."),
        ("31 June", "give a day and a month, such as 12 May."),
        ("soon", "give a day and a month, such as 12 May."),
        ("\x00", "give a day and a month, such as 12 May."),
        ("9" * 5000, "give a day and a month, such as 12 May."),
    ],
)
@pytest.mark.parametrize("act", ["look", "save"])
def test_a_day_that_cannot_be_is_answered_at_its_field(
    world: World, lead: Client, page: str, bed: str, typed: str, said: str, act: str
) -> None:
    for address in (page, f"{bed}/rules"):
        answer = lead.post(address, {**SAVE, "whose": "own", "clear_by": typed, "act": act})
        assert answer.status_code == 422
        assert said in answer.content.decode()
    assert rules_of(world) == BedRules()


def test_rules_of_a_bed_move_its_tasks_at_once(world: World, lead: Client, bed: str) -> None:
    give_climate(world, cool_from="11-20", first_freeze="11-30")
    plan_all(now=NOON)
    lift = Task.objects.get(kind="lift")
    assert lift.latest > date(2026, 11, 1)
    before = text_of(lead, f"{bed}/rules")
    assert "Those of the site: No rule" in before
    sent = lead.post(f"{bed}/rules", {**SAVE, "whose": "own", "clear_by": "1 November"})
    assert sent["Location"] == f"{bed}/rules?planned=1"
    lift.refresh_from_db()
    assert (lift.best, lift.latest) == (date(2026, 10, 25), date(2026, 11, 1))
    assert Plant.objects.get().planned_on == NOON.date()
    lead.post(f"{bed}/rules", {**SAVE, "whose": "site"})
    lift.refresh_from_db()
    assert lift.latest > date(2026, 11, 1)
    assert not Place.objects.get(pk=world.bed.pk).own_rules


def test_the_page_of_the_site_names_beds_with_their_own(
    world: World, lead: Client, page: str, bed: str
) -> None:
    set_bed_rules(world.coordinator, world.bed, BedRules((9, 1)), now=NOON)
    assert f'href="{bed}/rules"' in text_of(lead, page)
    look = lead.post(f"{bed}/rules", {**SAVE, "whose": "site", "act": "look"})
    assert "none has to leave" in look.content.decode()


def test_pots_have_no_rules(world: World, lead: Client) -> None:
    address = f"{world.address}beds/{world.bench.pk}/rules"
    assert lead.get(address).status_code == 422
    assert lead.post(address, {**SAVE, "whose": "own"}).status_code == 422
    set_site_rules(world.coordinator, world.site, BedRules((10, 15)), now=NOON)
    bench = text_of(lead, f"{world.address}beds/{world.bench.pk}")
    assert "Must be clear by" not in bench
    assert "Its rules" not in bench


def test_members_read_the_rules_and_do_not_set_them(
    world: World, as_person: SignIn, page: str, bed: str
) -> None:
    set_site_rules(world.coordinator, world.site, BedRules((10, 15)), now=NOON)
    for who in (world.member, world.committee):
        client = as_person(who)
        assert "Must be clear by 15 October each year." in text_of(client, bed)
        assert "Its rules" not in text_of(client, bed)
        assert "Bed rules" not in text_of(client, f"{world.address}beds")
        for address in (page, f"{bed}/rules"):
            assert client.get(address).status_code == 403
            assert client.post(address, SAVE).status_code == 403
    stranger = as_person(world.outsider)
    for address in (page, f"{bed}/rules"):
        assert stranger.get(address).status_code == 404
        assert stranger.post(address, SAVE).status_code == 404
    assert rules_of(world) == BedRules((10, 15))


def test_ground_of_another_garden_cannot_be_reached(world: World, lead: Client) -> None:
    site = SiteFactory()
    place = PlaceFactory(site=site)
    for address in (f"sites/{site.pk}/bed-rules", f"beds/{place.pk}/rules"):
        assert lead.post(f"{world.address}{address}", {**SAVE, "whose": "own"}).status_code == 404
    assert as_rules(Site.objects.get(pk=site.pk)) == BedRules()


def test_a_bed_with_rules_says_so_where_something_is_planted(
    world: World, as_person: SignIn
) -> None:
    set_site_rules(world.coordinator, world.site, BedRules((10, 15), False), now=NOON)
    text = text_of(as_person(world.member), f"{world.address}plants/{world.plant.code}/move")
    assert "Bed 3, Canal bank (clear by 15 October, no perennials over winter)" in text
    assert "Raising bench, Canal bank</option>" in text


def test_the_plan_on_a_plants_page_follows(world: World, as_person: SignIn) -> None:
    give_climate(world, cool_from="11-20", first_freeze="11-30")
    set_site_rules(world.coordinator, world.site, BedRules((11, 1)), now=NOON)
    text = text_of(as_person(world.member), f"{world.address}plants/{world.plant.code}")
    assert "1 November" in text


def test_looking_costs_the_same_for_few_and_many_plants(
    world: World, lead: Client, page: str
) -> None:
    give_climate(world)
    seen = []
    for more in (2, 30):
        for _ in range(more):
            a_plant(world.member, PlaceFactory(site=world.site))
        with CaptureQueriesContext(connection) as queries:
            lead.post(page, {**SAVE, "act": "look"})
        seen.append(len(queries))
    assert seen[0] == seen[1] <= 16
    seen = []
    for clear_by in ("16 October", "17 October"):
        with CaptureQueriesContext(connection) as queries:
            lead.post(page, {**SAVE, "clear_by": clear_by})
        seen.append(len(queries))
        for _ in range(20):
            a_plant(world.member, world.bed)
    assert seen[0] == seen[1] <= 14


def test_saving_the_rules_in_force_plans_nothing(world: World, lead: Client, page: str) -> None:
    lead.post(page, SAVE)
    sent = lead.post(page, SAVE)
    assert sent["Location"] == f"{page}?planned=0"
    assert "No plan changes." in text_of(lead, sent["Location"])

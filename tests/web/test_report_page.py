"""The report on the page: who reads it, what it says, its rows, its files, and closing a year."""

import csv
import io
from collections.abc import Callable
from datetime import date, timedelta

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from lifecycle.life.kinds import Kind
from lifecycle.models import AuditNote, ClosedYear, WorkHours
from lifecycle.records.year.closing import close_year
from lifecycle.web.year.report_words import share_words
from tests.conftest import World
from tests.factories import MembershipFactory
from tests.records.report_world import CLOSING, YEAR, logged, taken_over, write_down

pytestmark = pytest.mark.django_db
SignIn = Callable[[object], Client]
LATER = CLOSING + timedelta(days=3)


def read(response) -> str:
    return " ".join(response.content.decode().split())


def table(response) -> list[list[str]]:
    return list(csv.reader(io.StringIO(response.content.decode("utf-8-sig"), newline="")))


@pytest.mark.parametrize(
    ("who", "status"),
    [("owner", 200), ("coordinator", 200), ("committee", 200), ("member", 403), ("outsider", 404)],
)
@pytest.mark.parametrize("path", ["report", "report/2025", "report/2025/picked"])
def test_who_reads_the_report(
    world: World, as_person: SignIn, who: str, status: int, path: str
) -> None:
    write_down(world)
    page = as_person(getattr(world, who))
    assert page.get(f"{world.address}{path}").status_code == status
    assert page.get(f"{world.address}{path}?as=csv").status_code == status


def test_it_opens_with_the_last_complete_year(world: World, as_person: SignIn) -> None:
    write_down(world)
    text = read(as_person(world.committee).get(f"{world.address}report"))
    assert "Growing year 2025: 1 January to 31 December 2025" in text
    assert "Years and days are those of Canal bank." in text
    assert "This year is not closed" in text
    assert "report/2026" in text
    assert "report/2024" in text


def test_a_year_that_runs_says_so(world: World, as_person: SignIn) -> None:
    text = read(as_person(world.committee).get(f"{world.address}report/2026"))
    assert "This year is not over: its figures go up to today, 14 October 2026." in text


@pytest.mark.parametrize("year", [0, 2022, 2027, 99999999999])
def test_years_of_which_nothing_is_known_are_not_there(
    world: World, as_person: SignIn, year: int
) -> None:
    write_down(world)
    page = as_person(world.owner)
    assert page.get(f"{world.address}report/{year}").status_code == 404
    assert page.get(f"{world.address}report/{year}/picked").status_code == 404
    posted = page.post(f"{world.address}report/{year}", {"act": "close"})
    assert posted.status_code == 422
    assert not ClosedYear.objects.exists()


def test_figures_stand_beside_the_year_before_with_their_meaning(
    world: World, as_person: SignIn
) -> None:
    write_down(world)
    text = read(as_person(world.committee).get(f"{world.address}report"))
    row = (
        f'<a href="{world.address}report/2025/plants-end">Alive at the end</a></th>'
        '<td class="n">8</td>'
        '<td class="n">4</td>'
    )
    assert row in text
    assert "<strong>Picked:</strong> The weights of all entries “Picked”" in text
    assert ">1.5 kg</td>" in text
    assert ">1 of 2</td>" in text
    assert ">5 h</td>" in text
    assert "Money is not recorded here" in text
    assert "hours-total" not in text


def test_weights_are_the_readers(world: World, as_person: SignIn) -> None:
    write_down(world)
    world.committee.person.length = "in"
    world.committee.person.save(update_fields=["length"])
    text = read(as_person(world.committee).get(f"{world.address}report"))
    # 1500 g are 52.9 oz, which are 3.3 lb; 300 g are 10.6 oz.
    assert ">3.3 lb</td>" in text
    assert ">10.6 oz</td>" in text


@pytest.mark.parametrize(
    ("value", "of", "words"),
    [
        (0, 0, "0 of 0"),
        (3, 4, "3 of 4"),
        (4, 5, "4 of 5 (80 %)"),
        (2, 3, "2 of 3"),
        (7, 9, "7 of 9 (78 %)"),
    ],
)
def test_a_share_of_very_few_is_no_share(value: int, of: int, words: str) -> None:
    assert share_words(value, of) == words


KEYS = [
    ("members-joined", ["Ada", "1 March 2025"]),
    ("people-active", ["Ada", "Coordinator", "Owner"]),
    ("beds-held", ["Canal bank"]),
    ("plants-end", ["Cayenne 1"]),
    ("ended-died", ["1 May 2025", "Died"]),
    ("tasks-done", ["Turn the compost", "Cut back"]),
    ("nights-missed", ["19 April 2025"]),
    ("given-food_bank", ["1200 g", "Food bank or pantry"]),
    ("picked", ["1 August 2025", "500 g"]),
    ("entries-watered", ["3 July 2025"]),
]


@pytest.mark.parametrize(("key", "words"), KEYS)
def test_the_rows_behind_a_figure(
    world: World, as_person: SignIn, key: str, words: list[str]
) -> None:
    write_down(world)
    page = as_person(world.committee)
    text = read(page.get(f"{world.address}report/2025/{key}"))
    for word in words:
        assert word in text
    rows = table(page.get(f"{world.address}report/2025/{key}?as=csv"))
    assert len(rows) > 1
    assert {len(row) for row in rows} == {len(rows[0])}


@pytest.mark.parametrize("key", ["hours-total", "hours-people", "nothing", "entries-fed"])
def test_private_and_unknown_figures_have_no_page(
    world: World, as_person: SignIn, key: str
) -> None:
    write_down(world)
    assert as_person(world.owner).get(f"{world.address}report/2025/{key}").status_code == 404


def test_people_are_listed_by_name_and_never_ranked(world: World, as_person: SignIn) -> None:
    write_down(world)
    rows = table(as_person(world.owner).get(f"{world.address}report/2025/people-active?as=csv"))
    assert rows == [["Name"], ["Ada"], ["Coordinator"], ["Member"], ["Owner"]]


def test_a_file_is_read_by_whoever_and_noted(world: World, as_person: SignIn) -> None:
    write_down(world)
    page = as_person(world.committee)
    page.head(f"{world.address}report/2025?as=csv")
    assert not AuditNote.objects.exists()
    rows = table(page.get(f"{world.address}report/2025?as=csv"))
    assert rows[0] == ["part", "figure", "2025", "2024", "unit", "definition"]
    assert ["Harvest", "Picked", "500", "0", "g"] in [row[:5] for row in rows]
    page.get(f"{world.address}report/2025/picked?as=csv")
    notes = AuditNote.objects.filter(act="report_seen").order_by("pk")
    assert [note.detail for note in notes] == [{"year": 2025}, {"year": 2025, "figure": "picked"}]
    assert {note.by for note in notes} == {world.committee.person}


def test_a_name_that_looks_like_a_formula_is_harmless(world: World, as_person: SignIn) -> None:
    MembershipFactory(garden=world.garden, person__name="=HYPERLINK(1)", joined_on=date(2025, 5, 5))
    rows = table(as_person(world.owner).get(f"{world.address}report/2025/members-joined?as=csv"))
    assert rows[1] == ["'=HYPERLINK(1)", "2025-05-05", ""]


# --- closing ----------------------------------------------------------------------------------


def test_closing_asks_first_and_then_stands(world: World, as_person: SignIn) -> None:
    write_down(world)
    page, address = as_person(world.coordinator), f"{world.address}report/2025"
    assert f"{address}?close=1" in read(page.get(address))
    asked = read(page.get(f"{address}?close=1"))
    assert "it cannot be opened again" in asked
    assert not ClosedYear.objects.exists()
    assert page.post(address, {"act": "close"}).status_code == 302
    text = read(page.get(address))
    assert "Closed by Coordinator on 14 October 2026. Every figure counts what was known" in text
    assert "come out as they were stored." in text
    assert "close=1" not in text
    assert ClosedYear.objects.get().year == YEAR


@pytest.mark.parametrize(
    ("who", "status"), [("committee", 403), ("member", 403), ("outsider", 404)]
)
def test_who_may_not_close(world: World, as_person: SignIn, who: str, status: int) -> None:
    page, address = as_person(getattr(world, who)), f"{world.address}report/2025"
    assert page.post(address, {"act": "close"}).status_code == status
    if who == "committee":
        assert "?close=1" not in read(page.get(address))


def test_a_year_that_runs_is_not_closed(world: World, as_person: SignIn) -> None:
    refused = as_person(world.owner).post(f"{world.address}report/2026", {"act": "close"})
    assert refused.status_code == 422
    assert "is not over" in read(refused)
    assert as_person(world.owner).post(f"{world.address}report/2025", {}).status_code == 302
    assert not ClosedYear.objects.exists()


def test_what_is_known_since_stands_beside_what_was_closed(world: World, as_person: SignIn) -> None:
    found = write_down(world)
    close_year(world.owner, YEAR, now=CLOSING)
    given = {"now": LATER, "quantity": 250.0}
    logged(world.member, found["fresh"], Kind.PICKED, date(2025, 8, 20), **given)
    logged(world.member, found["fresh"], Kind.FED, date(2025, 8, 21), now=LATER, quantity=5.0)
    page, address = as_person(world.committee), f"{world.address}report/2025"
    text = read(page.get(address))
    assert "Known since the year was closed" in text
    assert (
        f'<a href="{address}/picked?now=1">Picked</a></th>'
        '<td class="n">500 g</td>'
        '<td class="n">750 g</td>'
    ) in text
    assert f"{address}/entries-fed?now=1" in text
    assert "come out as they were stored." in text
    then, now = page.get(f"{address}/picked"), page.get(f"{address}/picked?now=1")
    assert "Picked: 500 g" in read(then)
    assert "20 August 2025" not in read(then)
    assert "Picked: 750 g" in read(now)
    assert "20 August 2025" in read(now)


def test_hours_that_come_later_are_not_told(world: World, as_person: SignIn) -> None:
    write_down(world)
    year = close_year(world.owner, YEAR, now=CLOSING)
    WorkHours.objects.filter(person=world.owner.person).update(minutes=900)
    text = read(as_person(world.committee).get(f"{world.address}report/2025"))
    assert "Known since" not in text
    assert year.figures["values"]["hours-total"] == 5
    assert ">5 h</td>" in text


def test_a_figure_that_does_not_come_out_is_said_aloud(world: World, as_person: SignIn) -> None:
    write_down(world)
    year = close_year(world.owner, YEAR, now=CLOSING)
    year.figures["values"]["plants-end"] = 9
    year.save(update_fields=["figures"])
    text = read(as_person(world.committee).get(f"{world.address}report/2025"))
    assert "1 figure did not come out as stored" in text
    assert '<td class="n">9</td>' in text


def test_a_former_members_name_is_gone_and_the_figure_stays(
    world: World, as_person: SignIn
) -> None:
    found = write_down(world)
    close_year(world.owner, YEAR, now=CLOSING)
    ada = found["ada"].person
    ada.name = "Former member"
    ada.save(update_fields=["name"])
    page = as_person(world.committee)
    text = read(page.get(f"{world.address}report/2025/members-joined"))
    assert "Former member" in text
    assert "Ada" not in text
    assert "Joined: 2" in text


# --- size --------------------------------------------------------------------------------------


def queries(page: Client, address: str) -> int:
    with CaptureQueriesContext(connection) as found:
        assert page.get(address).status_code == 200
    return len(found)


@pytest.mark.parametrize(
    "path", ["report/2025", "report/2025/plants-end", "report/2025/tasks-done"]
)
def test_queries_do_not_grow_with_the_garden(world: World, as_person: SignIn, path: str) -> None:
    write_down(world)
    page, address = as_person(world.committee), f"{world.address}{path}"
    with time_machine.travel(CLOSING, tick=False):
        few = queries(page, address)
        for _ in range(20):
            taken_over(world, date(2025, 5, 5))
        assert queries(page, address) == few
        close_year(world.owner, YEAR, now=CLOSING)
        assert queries(page, address) <= 2 * few

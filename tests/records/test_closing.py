"""A closed year's figures stand: nothing that comes later moves them, and that is proved."""

from collections.abc import Callable
from datetime import date, timedelta
from io import StringIO
from typing import Any

import pytest
from django.core.exceptions import PermissionDenied
from django.core.management import call_command

from lifecycle.life.kinds import Kind
from lifecycle.models import (
    AuditNote,
    BedHolding,
    ClosedYear,
    FrostNight,
    GivenAway,
    Membership,
    Place,
    Task,
    TaskEvent,
    WorkHours,
)
from lifecycle.records.crops.entries import strike
from lifecycle.records.people.erasing import take_name_out
from lifecycle.records.refusal import Refused
from lifecycle.records.year.closing import (
    SETTLED,
    all_differences,
    close_year,
    closed_report,
    differences,
    values_of,
)
from lifecycle.records.year.giving import strike_given
from lifecycle.records.year.report import report_now
from lifecycle.records.year.report_plants import PlantRecord
from lifecycle.records.year.report_years import years_of
from tests.conftest import World
from tests.factories import MembershipFactory, PlaceFactory
from tests.records.identities import settled
from tests.records.report_world import (
    CLOSING,
    YEAR,
    a_closed_task,
    a_gift,
    logged,
    taken_over,
    write_down,
)

pytestmark = pytest.mark.django_db

LATER = CLOSING + timedelta(days=3)
Found = dict[str, Any]


@pytest.fixture
def closed(world: World) -> tuple[World, Found, ClosedYear]:
    found = write_down(world)
    return world, found, close_year(world.coordinator, YEAR, now=CLOSING)


def now_values(world: World) -> dict[str, int]:
    garden = world.garden
    garden.refresh_from_db()
    record = PlantRecord(garden.pk)
    return report_now(garden, YEAR, years_of(garden), record, now=LATER).values


def a_late_entry(world: World, found: Found) -> None:
    logged(world.member, found["first"], Kind.FED, date(2025, 8, 8), now=LATER, quantity=5.0)


def a_strike(world: World, found: Found) -> None:
    strike(world.member, found["picked"], "", now=LATER)


def a_late_end(world: World, found: Found) -> None:
    day = date(2025, 10, 10)
    logged(world.member, found["fresh"], Kind.ENDED, day, now=LATER, choice="died")


def a_late_plant(world: World, found: Found) -> None:
    plant = taken_over(world, date(2025, 12, 24))
    # Written down after the year was closed.
    type(plant.entries.get())._base_manager.filter(plant=plant).update(received_at=LATER)


def a_late_gift(world: World, found: Found) -> None:
    gift = a_gift(world.member, world, date(2025, 8, 20), 700, "food_bank")
    GivenAway.objects.filter(pk=gift.pk).update(at=LATER)


def a_struck_gift(world: World, found: Found) -> None:
    gift = GivenAway.objects.get(grams=1200)
    strike_given(world.owner, gift, now=LATER)


def a_task_opened_again(world: World, found: Found) -> None:
    task = Task.objects.get(plant=found["first"], number=1)
    TaskEvent.objects.create(garden=world.garden, task=task, act="reopened", at=LATER)
    Task.objects.filter(pk=task.pk).update(state="open", closed_at=None, closed_by=None)


def a_task_closed_late(world: World, found: Found) -> None:
    a_closed_task(found["first"], 7, ("done", LATER, world.member))


def somebody_leaves(world: World, found: Found) -> None:
    Membership.objects.filter(pk=found["ada"].pk).update(left_on=date(2025, 12, 30))


def somebody_comes_back(world: World, found: Found) -> None:
    Membership.objects.filter(pk=found["ben"].pk).update(left_on=None)


def somebody_is_entered_late(world: World, found: Found) -> None:
    MembershipFactory(garden=world.garden, joined_on=date(2025, 12, 1))


def a_plot_changes_hands(world: World, found: Found) -> None:
    held = BedHolding.objects.get(person=found["ada"].person)
    BedHolding.objects.filter(pk=held.pk).update(until=date(2025, 12, 1))


def a_bed_becomes_common(world: World, found: Found) -> None:
    Place.objects.filter(kind="bed", common=False).update(common=True)


def a_bed_is_dug(world: World, found: Found) -> None:
    PlaceFactory(site=world.site)


def harm_is_told_late(world: World, found: Found) -> None:
    FrostNight.objects.filter(harm="some").update(harm="killed", called_off_at=LATER)


def hours_are_struck(world: World, found: Found) -> None:
    WorkHours.objects.filter(person=world.owner.person).update(struck_at=LATER)


def hours_are_ended(world: World, found: Found) -> None:
    world.garden.hours_ledger = False
    world.garden.save(update_fields=["hours_ledger"])


def the_year_moves(world: World, found: Found) -> None:
    world.site.year_starts_in, world.site.time_zone = 4, "America/Denver"
    world.site.save(update_fields=["year_starts_in", "time_zone"])


CHANGES: list[Callable[[World, Found], None]] = [
    a_late_entry,
    a_strike,
    a_late_end,
    a_late_plant,
    a_late_gift,
    a_struck_gift,
    a_task_opened_again,
    somebody_leaves,
    somebody_comes_back,
    somebody_is_entered_late,
    a_plot_changes_hands,
    a_bed_becomes_common,
    a_bed_is_dug,
    harm_is_told_late,
    hours_are_struck,
    hours_are_ended,
    the_year_moves,
]


@pytest.mark.parametrize("change", CHANGES, ids=lambda each: each.__name__)
def test_what_comes_later_moves_no_figure_of_a_closed_year(
    closed: tuple[World, Found, ClosedYear], change: Callable[[World, Found], None]
) -> None:
    world, found, year = closed
    before = dict(values_of(year))
    assert now_values(world) == before
    change(world, found)
    year = ClosedYear.objects.select_related("garden").get()
    assert values_of(year) == before
    report = closed_report(year, PlantRecord(world.garden.pk))
    assert differences(year, report) == []
    assert report.values == before
    # And each of them would have moved an open one.
    assert now_values(world) != before


def test_a_task_closed_in_the_next_year_is_no_change_at_all(
    closed: tuple[World, Found, ClosedYear],
) -> None:
    world, found, year = closed
    a_task_closed_late(world, found)
    assert now_values(world) == values_of(year)


def test_two_labels_found_swapped_later_leave_the_closed_year_alone(world: World) -> None:
    june, november = date(2024, 6, 1), date(2024, 11, 10)
    one, two = (taken_over(world, june, phase="growing") for _ in range(2))
    for plant, choice in ((one, "resting"), (two, "growing_on")):
        given = {"choice": choice, "place": world.quarters}
        logged(world.member, plant, Kind.WINTER_QUARTERS, november, **given)
    # On one that grows on indoors a shoot proves nothing; on one that rested it does.
    logged(world.member, two, Kind.FIRST_GROWTH, date(2025, 4, 20))
    year = close_year(world.owner, YEAR, now=CLOSING)
    settled(world, one, two, since=date(2025, 3, 1), happened_on=LATER.date(), now=LATER)
    report = closed_report(year, PlantRecord(world.garden.pk))
    assert differences(year, report) == []
    assert report.values["winter-resting-lived"] == 0
    assert now_values(world)["winter-resting-lived"] == 1


def test_the_command_proves_it_and_names_what_does_not_come_out(
    closed: tuple[World, Found, ClosedYear],
) -> None:
    out = StringIO()
    call_command("check_reports", stdout=out)
    assert out.getvalue() == "Closed years: 1. Every figure comes out as it was stored.\n"
    _, _, year = closed
    year.figures["values"]["picked"] = 501
    year.save(update_fields=["figures"])
    assert [(each.key, each.stored, each.found) for _, each in all_differences()] == [
        ("picked", 501, 500)
    ]
    out, err = StringIO(), StringIO()
    with pytest.raises(SystemExit):
        call_command("check_reports", stdout=out, stderr=err)
    assert "2025: picked was stored as 501, and comes out as 500" in out.getvalue()
    assert err.getvalue().startswith("1 figures of closed years")


def test_a_figure_the_report_learned_since_proves_nothing(
    closed: tuple[World, Found, ClosedYear],
) -> None:
    world, _, year = closed
    del year.figures["values"]["picked-unweighed"]
    assert differences(year, closed_report(year, PlantRecord(world.garden.pk))) == []


def test_a_year_is_closed_once_and_never_opened_again(
    closed: tuple[World, Found, ClosedYear],
) -> None:
    world, found, year = closed
    a_late_entry(world, found)
    again = close_year(world.owner, YEAR, now=LATER)
    assert (again.pk, again.as_of, again.by) == (year.pk, year.as_of, world.coordinator.person)
    assert again.figures == year.figures
    assert ClosedYear.objects.count() == 1
    assert AuditNote.objects.filter(act="year_closed").count() == 1
    assert AuditNote.objects.get(act="year_closed").detail == {"year": YEAR}


@pytest.mark.parametrize("year", [2026, 2027])
def test_only_a_year_that_is_over_is_closed(world: World, year: int) -> None:
    with pytest.raises(Refused, match="is not over"):
        close_year(world.owner, year, now=CLOSING)


@pytest.mark.parametrize("year", [0, 1949, 2023])
def test_a_year_before_the_record_is_not_closed(world: World, year: int) -> None:
    with pytest.raises(Refused, match="knows nothing"):
        close_year(world.owner, year, now=CLOSING)


def test_what_may_still_be_on_its_way_counts_as_later(world: World) -> None:
    plant = taken_over(world, date(2025, 5, 1))
    at_once = CLOSING - SETTLED + timedelta(seconds=1)
    logged(world.member, plant, Kind.FED, date(2025, 8, 8), now=at_once, quantity=5.0)
    year = close_year(world.owner, YEAR, now=CLOSING)
    assert year.as_of == CLOSING - SETTLED
    assert "entries-fed" not in values_of(year)


def test_a_year_is_not_closed_in_its_first_minutes_after_midnight(world: World) -> None:
    midnight = CLOSING.replace(day=1, hour=0, minute=0)
    with pytest.raises(Refused, match="is not over"):
        close_year(world.owner, YEAR, now=midnight + SETTLED - timedelta(seconds=1))
    assert close_year(world.owner, YEAR, now=midnight + SETTLED).year == YEAR


@pytest.mark.parametrize("role", ["member", "committee"])
def test_only_who_leads_closes_a_year(world: World, role: str) -> None:
    with pytest.raises(PermissionDenied):
        close_year(getattr(world, role), YEAR, now=CLOSING)


def test_whose_name_is_taken_out_still_counts(closed: tuple[World, Found, ClosedYear]) -> None:
    world, found, year = closed
    before = dict(values_of(year))
    ada = found["ada"]
    ada.left_on, ada.nameless = LATER.date(), True
    ada.save(update_fields=["left_on", "nameless"])
    assert take_name_out(ada, now=LATER)
    year = ClosedYear.objects.select_related("garden").get()
    report = closed_report(year, PlantRecord(world.garden.pk))
    assert differences(year, report) == []
    assert values_of(year) == before
    assert now_values(world) == before
    joined = report.figures["members-joined"].rows
    assert joined is not None
    people = Membership.objects.filter(pk__in=joined()).values_list("person__name", flat=True)
    assert "Ada" not in set(people)


def test_a_closed_year_holds_no_name_and_no_number_of_a_person(
    closed: tuple[World, Found, ClosedYear],
) -> None:
    _, _, year = closed

    def words(value: Any) -> set[str]:
        if isinstance(value, dict):
            return {word for each in value.values() for word in words(each)}
        if isinstance(value, list):
            return {word for each in value for word in words(each)}
        return {value} if isinstance(value, str) else set()

    assert words(year.figures) == {"common", "held", "empty", "some", "killed", ""}
    stays = year.figures["kept"]["stays"]
    own = {row[0] for row in stays}
    assert own == set(Membership.objects.filter(pk__in=own).values_list("pk", flat=True))
    assert {len(row) for row in stays} == {3}

"""Bad weather at a site: reported once, ended once, withdrawn with a reason, and planned by."""

from datetime import date, timedelta

import pytest
from django.core.exceptions import PermissionDenied
from django.db import IntegrityError, transaction

from lifecycle.care.outlook import SiteEvent, Weather
from lifecycle.life.kinds import Kind
from lifecycle.models import Plant, SiteEventRow, Sowing
from lifecycle.records.ground.site_events import (
    begin,
    end,
    events_of,
    notices_for,
    still_counts,
    withdraw,
)
from lifecycle.records.refusal import Refused
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, SiteFactory, a_plant, a_sowing, an_entry

pytestmark = pytest.mark.django_db
TODAY = NOON.date()
DAY = timedelta(1)


def reported(world: World, **more) -> SiteEventRow:
    given = {
        "weather": "heat",
        "began_on": TODAY - 3 * DAY,
        "ended_on": None,
        "note": "",
        "now": NOON,
        **more,
    }
    return begin(given.pop("actor", world.member), given.pop("site", world.site), **given)


def test_an_event_marks_the_living_of_its_site_to_be_planned_again(world: World) -> None:
    sowing = a_sowing(world.member, world.bench)
    gone = a_plant(world.member, world.bed)
    an_entry(world.member, gone, Kind.ENDED, choice="died")
    away = SiteFactory(garden=world.garden)
    Plant.objects.update(planned_on=TODAY)
    Sowing.objects.update(planned_on=TODAY)
    Plant.objects.filter(pk=gone.pk).update(site=world.site)
    versions = dict(Plant.objects.values_list("pk", "version"))
    reported(world, site=away)
    assert not Plant.objects.filter(planned_on=None).exists()
    event = reported(world)
    assert (event.by, event.weather, event.ended_on) == (world.member.person, "heat", None)
    assert list(Plant.objects.filter(planned_on=None)) == [world.plant]
    assert list(Sowing.objects.filter(planned_on=None)) == [sowing]
    # A planner at work on what it read before leaves the plant to the next tick.
    assert Plant.objects.get(pk=world.plant.pk).version == versions[world.plant.pk] + 1


def test_the_same_report_twice_is_one(world: World) -> None:
    assert reported(world) == reported(world)
    with pytest.raises(IntegrityError), transaction.atomic():
        SiteEventRow.objects.create(
            garden=world.garden,
            site=world.site,
            weather="heat",
            began_on=TODAY - 3 * DAY,
            by=world.member.person,
        )


@pytest.mark.parametrize(
    ("began", "ended"),
    [(-2, None), (-3 + 1, -1), (-5, None), (-5, -3)],
)
def test_one_kind_of_weather_does_not_overlap(world: World, began: int, ended: int | None) -> None:
    reported(world)
    last = None if ended is None else TODAY + ended * DAY
    with pytest.raises(Refused, match="on record for these days"):
        reported(world, began_on=TODAY + began * DAY, ended_on=last)
    assert reported(world, weather="flood", began_on=TODAY + began * DAY, ended_on=last)


def test_before_and_after_another_one(world: World) -> None:
    reported(world, began_on=TODAY - 5 * DAY, ended_on=TODAY - 3 * DAY)
    reported(world, began_on=TODAY - 8 * DAY, ended_on=TODAY - 6 * DAY)
    reported(world, began_on=TODAY - 2 * DAY)
    assert SiteEventRow.objects.count() == 3


def test_hail_is_over_the_day_it_comes(world: World) -> None:
    event = reported(world, weather="hail")
    assert event.ended_on == event.began_on
    assert reported(world, weather="flood").ended_on is None


@pytest.mark.parametrize(
    ("more", "field"),
    [
        ({"began_on": TODAY + DAY}, "began_on"),
        ({"began_on": TODAY - 61 * DAY}, "began_on"),
        ({"ended_on": TODAY + DAY}, "ended_on"),
        ({"ended_on": TODAY - 4 * DAY}, "ended_on"),
        ({"weather": "snow"}, "weather"),
        ({"note": "x" * 501}, "note"),
    ],
)
def test_a_report_that_cannot_be(world: World, more: dict, field: str) -> None:
    with pytest.raises(Refused) as problem:
        reported(world, **more)
    assert problem.value.field == field
    assert not SiteEventRow.objects.exists()


def test_the_oldest_day_that_changes_a_plan(world: World) -> None:
    assert reported(world, began_on=TODAY - 60 * DAY, note="\x00dry ").note == "dry"


def test_any_member_reports_and_nobody_else(world: World) -> None:
    with pytest.raises(PermissionDenied):
        reported(world, actor=world.committee)
    with pytest.raises(Refused, match="does not belong to this garden"):
        reported(world, actor=MembershipFactory(role="owner"))


def test_it_is_ended_once(world: World) -> None:
    event = reported(world)
    Plant.objects.update(planned_on=TODAY)
    for _ in range(2):
        assert end(world.owner, event, ended_on=TODAY - DAY, now=NOON).ended_on == TODAY - DAY
    assert Plant.objects.filter(planned_on=None).exists()
    with pytest.raises(Refused, match="ended on 13 October 2026 already"):
        end(world.owner, event, ended_on=TODAY, now=NOON)
    with pytest.raises(Refused, match="cannot have ended"):
        end(world.owner, reported(world, weather="flood"), ended_on=TODAY - 9 * DAY, now=NOON)


def test_a_mistake_is_withdrawn_and_stays_readable(world: World) -> None:
    event = reported(world)
    with pytest.raises(Refused, match="Say in a few words"):
        withdraw(world.member, event, " ", now=NOON)
    with pytest.raises(PermissionDenied):
        withdraw(MembershipFactory(garden=world.garden), event, "No", now=NOON)
    Plant.objects.update(planned_on=TODAY)
    withdraw(world.coordinator, event, "Another site", now=NOON)
    again = withdraw(world.member, event, "Other words", now=NOON)
    assert (again.withdrawn_why, again.withdrawn_by) == ("Another site", world.coordinator.person)
    assert Plant.objects.filter(planned_on=None).exists()
    with pytest.raises(Refused, match="was withdrawn"):
        end(world.member, event, ended_on=TODAY, now=NOON)
    assert (events_of(world.site), notices_for(world.site, TODAY)) == ((), [])
    assert reported(world) != event


def test_what_the_plan_reads(world: World) -> None:
    reported(world)
    reported(world, weather="hail", began_on=TODAY - 9 * DAY)
    assert events_of(world.site) == (
        SiteEvent(Weather.HAIL, TODAY - 9 * DAY, TODAY - 9 * DAY),
        SiteEvent(Weather.HEAT, TODAY - 3 * DAY),
    )


@pytest.mark.parametrize(
    ("began", "ended", "counts"),
    [
        (date(2026, 10, 14), None, True),
        (date(2026, 10, 15), None, False),
        (date(2026, 8, 15), None, True),
        (date(2026, 8, 14), None, False),
        (date(2026, 7, 1), date(2026, 8, 15), True),
        (date(2026, 7, 1), date(2026, 8, 14), False),
    ],
)
def test_weather_counts_for_sixty_days(began: date, ended: date | None, counts: bool) -> None:
    assert still_counts(SiteEvent(Weather.HEAT, began, ended), TODAY) is counts


def test_a_notice_lasts_fourteen_days_longer_than_the_weather(world: World) -> None:
    event = reported(world, ended_on=TODAY - 3 * DAY)
    last = TODAY + 11 * DAY
    assert notices_for(world.site, last) == [event]
    assert notices_for(world.site, last + DAY) == []
    assert notices_for(world.site, TODAY - 4 * DAY) == []
    lasting = reported(world, weather="flood", began_on=TODAY)
    assert notices_for(world.site, TODAY + 60 * DAY) == [lasting]
    assert notices_for(world.site, TODAY + 61 * DAY) == []

"""Forecasts kept as they were issued, and the choice of where they come from."""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.core.exceptions import PermissionDenied

from lifecycle.agronomy.forecast_nights import ForecastIssue, NightTold
from lifecycle.models import ForecastSource, NightForecast, SevenNightLows
from lifecycle.records.refusal import Refused
from lifecycle.records.weather.forecasts import choose_source, keep_issue
from lifecycle.records.weather.weather import type_seven_nights
from tests.conftest import World
from tests.factories import NOON, SiteFactory

Kind = ForecastSource.Kind
TODAY = NOON.date()


def issue(*nights: tuple[int, float], at: datetime = NOON) -> ForecastIssue:
    return ForecastIssue(
        at, tuple(NightTold(TODAY + timedelta(ahead), low) for ahead, low in nights)
    )


def test_an_issue_is_kept_once_and_never_changed(world: World) -> None:
    assert keep_issue(world.site, Kind.DAILY, issue((0, 1.234), (1, 3.0)), now=NOON) == 2
    again = issue((0, 9.0), (1, 9.0), (2, 5.0))
    assert keep_issue(world.site, Kind.DAILY, again, now=NOON + timedelta(hours=1)) == 1
    rows = NightForecast.objects.order_by("night")
    assert [(row.low_c, row.lead_nights) for row in rows] == [(1.23, 0), (3.0, 1), (5.0, 2)]
    # Another source, or another time, is another issue.
    assert keep_issue(world.site, Kind.FILE, again, now=NOON) == 3
    later = issue((0, 2.0), at=NOON + timedelta(minutes=1))
    assert keep_issue(world.site, Kind.DAILY, later, now=NOON + timedelta(minutes=1)) == 1


@pytest.mark.parametrize(
    ("zone", "at", "lead"),
    [
        ("UTC", datetime(2026, 10, 14, 15, 59, tzinfo=UTC), 0),
        ("UTC", datetime(2026, 10, 14, 16, 0, tzinfo=UTC), None),
        ("UTC", datetime(2026, 10, 13, 0, 0, tzinfo=UTC), 1),
        ("America/Chicago", datetime(2026, 10, 14, 3, 0, tzinfo=UTC), None),
        ("America/Chicago", datetime(2026, 10, 14, 5, 0, tzinfo=UTC), 0),
        ("Pacific/Auckland", datetime(2026, 10, 13, 12, 0, tzinfo=UTC), 0),
    ],
)
def test_the_lead_counts_days_on_the_sites_clock_before_four(
    world: World, zone: str, at: datetime, lead: int | None
) -> None:
    site = SiteFactory(garden=world.garden, time_zone=zone)
    keep_issue(site, Kind.DAILY, issue((0, 1.0), at=at), now=at)
    assert NightForecast.objects.get().lead_nights == lead


def test_nights_long_past_or_too_far_ahead_are_left_out(world: World) -> None:
    told = issue((-2, 1.0), (-1, 2.0), (14, 3.0), (15, 4.0))
    assert keep_issue(world.site, Kind.FILE, told, now=NOON) == 2
    assert sorted(NightForecast.objects.values_list("low_c", flat=True)) == [2.0, 3.0]


def test_a_forecast_from_the_future_is_not_kept(world: World) -> None:
    ahead = issue((0, 1.0), at=NOON + timedelta(minutes=10))
    assert keep_issue(world.site, Kind.FILE, ahead, now=NOON) == 1
    with pytest.raises(ValueError, match=r"issued at 12:11 on 14 October 2026 \(UTC\), which has"):
        keep_issue(
            world.site, Kind.FILE, issue((0, 1.0), at=NOON + timedelta(minutes=11)), now=NOON
        )


def test_typed_nights_are_kept_as_an_issue_of_the_member(world: World) -> None:
    lows = [5.0, 4.0, 3.0, 2.0, 1.0, 0.0, -1.0]
    type_seven_nights(world.member, world.site, first_night=TODAY, lows_c=lows, now=NOON)
    rows = list(NightForecast.objects.order_by("night"))
    assert [row.low_c for row in rows] == lows
    assert {(row.source, row.issued_at, row.by) for row in rows} == {
        ("typed", NOON, world.member.person)
    }
    assert SevenNightLows.objects.get().lows_c == lows
    # Put right at the same instant, it is a newer issue.
    type_seven_nights(world.owner, world.site, first_night=TODAY, lows_c=lows[::-1], now=NOON)
    newest = NightForecast.objects.filter(night=TODAY).order_by("-issued_at")[0]
    assert (newest.low_c, newest.by) == (-1.0, world.owner.person)
    assert newest.issued_at > NOON


def test_a_coordinator_chooses_the_source_and_past_failures_are_forgotten(world: World) -> None:
    source = choose_source(
        world.coordinator, world.site, kind="file", file_name=" canal bank.csv ", now=NOON
    )
    assert (source.kind, source.file_name, source.set_by) == (
        "file", "canal bank.csv", world.coordinator.person,
    )  # fmt: skip
    ForecastSource.objects.update(failures=3, last_error="x.", next_try_at=NOON, worked_at=NOON)
    again = choose_source(world.owner, world.site, kind="daily", file_name="x.csv", now=NOON)
    assert again.pk == source.pk
    assert (again.file_name, again.failures, again.last_error) == ("", 0, "")
    assert (again.next_try_at, again.worked_at) == (None, None)


@pytest.mark.parametrize(
    ("kind", "file_name", "sentence"),
    [
        ("moon", "", "Choose one of the sources."),
        ("file", "", "Give the name of a CSV file"),
        ("file", "../x.csv", "Give the name of a CSV file"),
        ("file", "a/b.csv", "Give the name of a CSV file"),
        ("file", ".csv", "Give the name of a CSV file"),
        ("file", "x.txt", "Give the name of a CSV file"),
        ("file", "x.csv\n", ""),
        ("file", "x\x00.csv", "Give the name of a CSV file"),
    ],
)
def test_what_cannot_be_a_source(world: World, kind: str, file_name: str, sentence: str) -> None:
    if not sentence:
        choose_source(world.owner, world.site, kind=kind, file_name=file_name, now=NOON)
        assert ForecastSource.objects.get().file_name == "x.csv"
        return
    with pytest.raises(Refused, match=sentence):
        choose_source(world.owner, world.site, kind=kind, file_name=file_name, now=NOON)


@pytest.mark.parametrize("kind", ["gridpoint", "daily"])
def test_a_service_needs_a_longitude(world: World, kind: str) -> None:
    site = SiteFactory(garden=world.garden, longitude=None)
    with pytest.raises(Refused, match="has no longitude"):
        choose_source(world.owner, site, kind=kind, file_name="", now=NOON)
    assert choose_source(world.owner, site, kind="typed", file_name="", now=NOON)


def test_only_who_leads_chooses_and_only_at_home(world: World) -> None:
    given = {"kind": "typed", "file_name": "", "now": NOON}
    for member in (world.member, world.committee):
        with pytest.raises(PermissionDenied):
            choose_source(member, world.site, **given)
    with pytest.raises(Refused, match="does not belong to this garden"):
        choose_source(world.owner, SiteFactory(), **given)


def test_the_day_of_the_night_is_a_date(world: World) -> None:
    keep_issue(world.site, Kind.FILE, issue((0, 1.0)), now=NOON)
    assert NightForecast.objects.get().night == date(2026, 10, 14)

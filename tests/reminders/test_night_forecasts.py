"""The newest forecast of a night, seven nights for the plan, freshness, and learned errors."""

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from lifecycle.models import (
    DayReading,
    ForecastSource,
    NightForecast,
    SevenNightLows,
    Site,
    WeatherRecord,
)
from lifecycle.records.weather.forecast_age import stale
from lifecycle.records.weather.weather import add_record, type_seven_nights
from lifecycle.reminders.weather.forecast_skill import calm_of, pairs_at, published_error
from lifecycle.reminders.weather.night_forecasts import (
    attribution,
    error_for,
    in_force,
    low_of,
    nights_in_use,
    nights_told,
    prior_of_site,
)
from lifecycle.reminders.work.planning import climate_of
from tests.conftest import World
from tests.external.installed_records import aquacrop_csv, seattle_csv
from tests.factories import NOON, SiteFactory

pytestmark = pytest.mark.django_db
Kind = ForecastSource.Kind
TODAY = NOON.date()
DAY, HOUR = timedelta(days=1), timedelta(hours=1)


def tell(site: Site, night: date, low_c: float, **more: Any) -> NightForecast:
    given: dict[str, Any] = {"source": Kind.DAILY, "issued_at": NOON - HOUR, **more}
    given.setdefault("received_at", given["issued_at"])
    return NightForecast.objects.create(
        garden=site.garden, site=site, night=night, low_c=low_c, **given
    )


def tell_week(site: Site, first: date, lows: list[float], **more: Any) -> None:
    for number, low in enumerate(lows):
        tell(site, first + number * DAY, low, **more)


WEEK = [7.0, 6.0, 5.0, 4.0, 3.0, 2.0, 1.0]


def test_the_newest_issue_of_any_source_that_was_in_by_then(world: World) -> None:
    site = world.site
    assert in_force(site, TODAY, NOON) is None
    old = tell(site, TODAY, 3.0, issued_at=NOON - 5 * HOUR)
    typed = tell(site, TODAY, 2.0, source=Kind.TYPED, issued_at=NOON - 2 * HOUR)
    tell(site, TODAY, 1.0, issued_at=NOON - HOUR, received_at=NOON + HOUR)
    tell(site, TODAY + DAY, 9.0)
    tell(SiteFactory(), TODAY, -9.0)
    assert in_force(site, TODAY, NOON) == typed
    assert in_force(site, TODAY, NOON - 3 * HOUR) == old


@pytest.mark.parametrize(
    ("typed", "service", "used"),
    [
        ((2.0, 1), (3.0, 5), "typed"),
        ((2.0, 5), (3.0, 1), "typed"),
        ((3.0, 1), (2.0, 5), "service"),
        ((3.0, 5), (2.0, 1), "service"),
        # The service is old from 6 hours on, what was typed from 18 on: then the newer counts.
        ((3.0, 18), (2.0, 6), "service"),
        ((2.0, 18), (3.0, 6), "typed"),
        ((3.0, 1), (2.0, 7), "typed"),
        ((3.0, 8), (9.0, 7), "service"),
        ((2.0, 19), (3.0, 1), "service"),
        ((2.0, 1), None, "typed"),
        (None, (2.0, 1), "service"),
        (None, None, None),
    ],
)
def test_a_night_is_judged_by_the_colder_of_two_fresh_forecasts(
    world: World,
    typed: tuple[float, int] | None,
    service: tuple[float, int] | None,
    used: str | None,
) -> None:
    told: dict[str | None, NightForecast | None] = {None: None}
    for name, kind, given in (("typed", Kind.TYPED, typed), ("service", Kind.DAILY, service)):
        if given is not None:
            low, ago = given
            told[name] = tell(world.site, TODAY, low, source=kind, issued_at=NOON - ago * HOUR)
            tell(world.site, TODAY, -40.0, source=kind, issued_at=NOON - 60 * HOUR)
    assert in_force(world.site, TODAY, NOON) == told[used]


def test_seven_nights_from_tonight_each_by_its_newest_issue(world: World) -> None:
    tell_week(world.site, TODAY - DAY, [8.0, *WEEK], issued_at=NOON - 30 * HOUR)
    tell(world.site, TODAY + 2 * DAY, -1.0)
    nights = nights_in_use(world.site, NOON)
    assert nights is not None
    assert (nights.first, nights.lows_c) == (TODAY, (7.0, 6.0, -1.0, 4.0, 3.0, 2.0, 1.0))
    assert nights.told_by == "Open-Meteo.com (CC BY 4.0)"
    # The next day the seventh night is not told.
    assert nights_in_use(world.site, NOON + DAY) is None


def test_what_was_typed_before_forecasts_were_kept_still_counts(world: World) -> None:
    SevenNightLows.objects.create(
        garden=world.garden,
        site=world.site,
        first_night=TODAY,
        lows_c=WEEK,
        typed_by=world.member.person,
    )
    for nights in (nights_in_use(world.site, NOON), nights_told(world.site)):
        assert nights is not None
        assert (nights.first, nights.lows_c, nights.told_by) == (TODAY, tuple(WEEK), "")


def test_a_plan_sees_the_week_of_the_newest_issue(world: World) -> None:
    assert climate_of(world.site).nights is None
    tell_week(world.site, TODAY - 2 * DAY, [9.0] * 8, issued_at=NOON - 2 * DAY)
    tell_week(world.site, TODAY, WEEK)
    nights = climate_of(world.site).nights
    assert nights is not None
    assert (nights.first, nights.lows_c) == (TODAY, tuple(WEEK))


def test_a_night_under_way_is_not_the_first_of_the_week(world: World) -> None:
    at_three = datetime(2026, 10, 14, 3, tzinfo=UTC)
    tell_week(world.site, TODAY - DAY, [0.0, *WEEK], issued_at=at_three)
    nights = nights_told(world.site)
    assert nights is not None
    assert nights.first == TODAY


def test_nights_typed_from_tomorrow_begin_tomorrow(world: World) -> None:
    first = TODAY + DAY
    type_seven_nights(world.member, world.site, first_night=first, lows_c=WEEK, now=NOON)
    nights = nights_told(world.site)
    assert nights is not None
    assert (nights.first, nights.told_by) == (first, "")
    first = TODAY - DAY
    type_seven_nights(world.member, world.site, first_night=first, lows_c=WEEK, now=NOON)
    nights = nights_told(world.site)
    assert nights is not None
    # The last of them comes from what was typed before.
    assert (nights.first, nights.lows_c) == (TODAY, (6.0, 5.0, 4.0, 3.0, 2.0, 1.0, 2.0))


def test_six_nights_are_no_week(world: World) -> None:
    tell_week(world.site, TODAY, WEEK[:6])
    assert nights_told(world.site) is None
    assert nights_in_use(world.site, NOON) is None


def test_a_plan_asks_for_its_nights_once_however_many_issues(world: World) -> None:
    seen = []
    for back in (1, 40):
        for hour in range(back):
            tell_week(world.site, TODAY, WEEK, issued_at=NOON - (hour + back) * HOUR)
        with CaptureQueriesContext(connection) as queries:
            assert nights_told(world.site) is not None
        seen.append(len(queries))
    assert seen == [1, 1]


@pytest.mark.parametrize(
    ("source", "age", "old"),
    [
        (Kind.DAILY, 6 * HOUR, False),
        (Kind.DAILY, 6 * HOUR + timedelta(seconds=1), True),
        (Kind.FILE, 6 * HOUR, False),
        (Kind.FILE, 7 * HOUR, True),
        (Kind.TYPED, 18 * HOUR, False),
        (Kind.TYPED, 18 * HOUR + timedelta(seconds=1), True),
        (Kind.GRIDPOINT, 6 * HOUR, False),
        (Kind.GRIDPOINT, 7 * HOUR, True),
    ],
)
def test_forecasts_grow_old(world: World, source: str, age: timedelta, old: bool) -> None:
    told = tell(world.site, TODAY, 1.0, source=source, issued_at=NOON - age)
    assert stale(told, NOON) is old


@pytest.mark.parametrize(
    ("kind", "worked", "age", "old"),
    [
        (Kind.GRIDPOINT, HOUR, 7 * HOUR, False),
        (Kind.GRIDPOINT, 6 * HOUR, 18 * HOUR, False),
        (Kind.GRIDPOINT, 6 * HOUR + timedelta(seconds=1), 7 * HOUR, True),
        (Kind.GRIDPOINT, HOUR, 18 * HOUR + timedelta(seconds=1), True),
        (Kind.DAILY, HOUR, 7 * HOUR, True),
        (Kind.GRIDPOINT, None, 7 * HOUR, True),
    ],
)
def test_a_gridpoint_is_fresh_while_its_service_stands_by_it(
    world: World, kind: str, worked: timedelta | None, age: timedelta, old: bool
) -> None:
    """``kind`` is what the site has chosen since."""
    ForecastSource.objects.create(
        garden=world.garden,
        site=world.site,
        kind=kind,
        set_at=NOON,
        worked_at=None if worked is None else NOON - worked,
    )
    told = tell(world.site, TODAY, 1.0, source=Kind.GRIDPOINT, issued_at=NOON - age)
    assert stale(told, NOON) is old


@pytest.mark.parametrize(
    ("source", "words"),
    [
        (Kind.GRIDPOINT, "Forecast of 11:00 on 14 October, National Weather Service (public dom"),
        (Kind.DAILY, "Forecast of 11:00 on 14 October, Open-Meteo.com (CC BY 4.0)"),
        (Kind.FILE, "Forecast of 11:00 on 14 October, a file of this garden"),
        (Kind.TYPED, "Forecast typed in at 11:00 on 14 October by a member"),
    ],
)
def test_a_forecast_names_its_source_and_time(world: World, source: str, words: str) -> None:
    assert attribution(tell(world.site, TODAY, 1.0, source=source)).startswith(words)


def test_the_time_is_that_of_the_sites_clock_and_who_typed_is_named(world: World) -> None:
    site = SiteFactory(garden=world.garden, time_zone="America/Chicago")
    told = tell(site, TODAY, 1.0, source=Kind.TYPED, by=world.member.person)
    assert attribution(told) == "Forecast typed in at 06:00 on 14 October by Member"


def read(site: Site, night: date, low_c: float) -> None:
    DayReading.objects.create(garden=site.garden, site=site, day=night + DAY, tmin_c=low_c, at=NOON)


def test_the_low_of_a_night_stands_with_the_next_day(world: World) -> None:
    read(world.site, TODAY - DAY, -1.5)
    assert low_of(world.site, TODAY - DAY) == -1.5
    assert low_of(world.site, TODAY) is None


def past_nights(site: Site, number: int, lead: int = 0, miss: float = 1.0, **more: Any) -> None:
    """Nights told ``miss`` too warm, a little more every other night."""
    for back in range(1, number + 1):
        night = TODAY - back * DAY
        low = 5.0 + back % 7
        if low_of(site, night) is None:
            read(site, night, low)
        issued = datetime(night.year, night.month, night.day, 9, tzinfo=UTC) - lead * DAY
        told = low + miss + (0.5 if back % 2 else -0.5)
        tell(site, night, told, issued_at=issued, lead_nights=lead, **more)


def test_the_error_is_learned_from_thirty_pairs(world: World) -> None:
    past_nights(world.site, 29)
    assert error_for(world.site, 0, None, NOON) == published_error(0)
    past_nights(SiteFactory(), 40, miss=9.0)
    read(world.site, TODAY - 30 * DAY, 5.0)
    tell(world.site, TODAY - 30 * DAY, 6.0, lead_nights=0, issued_at=NOON - 30 * DAY - HOUR)
    learned = error_for(world.site, 0, None, NOON)
    assert (learned.pairs, learned.bias_c) == (30, pytest.approx(1.0, abs=0.05))
    assert learned.sd_c == pytest.approx(0.5, abs=0.05)
    # What was told of the same nights on other days is another error.
    assert error_for(world.site, 1, None, NOON) == published_error(1)


def test_calm_nights_are_learned_apart_when_there_are_enough(world: World) -> None:
    site = world.site
    past_nights(site, 30, miss=2.0, wind_m_s=1.9)
    for back in range(31, 51):
        read(site, TODAY - back * DAY, 5.0)
        issued = NOON - back * DAY - 3 * HOUR
        tell(site, TODAY - back * DAY, 5.0, lead_nights=0, issued_at=issued, wind_m_s=2.0)
    assert error_for(site, 0, True, NOON).pairs == 30
    # Of windy nights there are too few: all count.
    for calm in (False, None):
        assert error_for(site, 0, calm, NOON).pairs == 50


@pytest.mark.parametrize(
    ("wind", "calm"), [(None, None), (0.0, True), (1.99, True), (2.0, False), (30.0, False)]
)
def test_two_metres_a_second_are_no_calm(wind: float | None, calm: bool | None) -> None:
    assert calm_of(wind) is calm


def test_the_last_issue_before_four_is_the_one_compared(world: World) -> None:
    night = TODAY - DAY
    read(world.site, night, 1.0)
    for hour, low, lead in ((6, 5.0, 0), (12, 3.0, 0), (17, 1.0, None), (12, 4.0, 1)):
        issued = datetime(2026, 10, 13, hour, tzinfo=UTC) - (lead or 0) * DAY
        tell(world.site, night, low, issued_at=issued, lead_nights=lead)
    found = pairs_at(world.site, range(2), NOON)
    assert [(pair.forecast_c, pair.happened_c) for pair in found[0]] == [(3.0, 1.0)]
    assert [pair.forecast_c for pair in found[1]] == [4.0]


def test_two_years_are_looked_back(world: World) -> None:
    for back in (0, 1, 730, 731, 732):
        night = TODAY - back * DAY
        read(world.site, night, 1.0)
        tell(world.site, night, 2.0, lead_nights=0, issued_at=NOON - back * DAY)
    found = pairs_at(world.site, [0], NOON)[0]
    assert [(TODAY - pair.night).days for pair in found] == [731, 730, 1]


def test_nights_without_a_reading_make_no_pair(world: World) -> None:
    tell(world.site, TODAY - DAY, 2.0, lead_nights=0)
    assert pairs_at(world.site, [0], NOON) == {0: []}


def test_the_published_error_grows_with_the_lead(world: World) -> None:
    assert published_error(0).sd_c == pytest.approx(3.8 / 1.8)
    assert published_error(3).sd_c == pytest.approx((3.8 + 3 * 0.6) / 1.8)
    assert (published_error(0).bias_c, published_error(0).pairs) == (0.0, 0)
    assert error_for(world.site, -1, None, NOON) == published_error(0)
    assert error_for(world.site, 9, None, NOON) == published_error(7)


def test_learning_asks_the_same_number_of_queries(world: World) -> None:
    seen = []
    for number, source in ((5, Kind.DAILY), (40, Kind.FILE)):
        past_nights(world.site, number, source=source)
        with CaptureQueriesContext(connection) as queries:
            pairs_at(world.site, range(4), NOON)
        seen.append(len(queries))
    assert seen == [2, 2]


def test_without_a_record_nothing_is_known_of_the_nights(world: World) -> None:
    assert prior_of_site(world.site) is None


def test_the_nights_of_a_record_are_kept_with_it(world: World) -> None:
    add_record(
        world.owner, world.site, name="R", data=aquacrop_csv("brussels"), units="C", now=NOON
    )
    row = WeatherRecord.objects.get()
    kept = row.climate["nights"]
    prior = prior_of_site(world.site)
    assert prior is not None
    assert prior.years == 30
    assert prior.as_stored() == kept
    # A record kept before nights were: worked out once, from its bytes.
    old = {name: value for name, value in row.climate.items() if name != "nights"}
    WeatherRecord.objects.update(climate=old)
    again = prior_of_site(world.site)
    assert again is not None
    assert again.as_stored() == kept
    assert WeatherRecord.objects.get().climate["nights"] == kept


def test_a_short_record_tells_nothing_of_its_nights(world: World) -> None:
    add_record(world.owner, world.site, name="R", data=seattle_csv(), units="C", now=NOON)
    assert WeatherRecord.objects.get().climate["nights"] is None
    assert prior_of_site(world.site) is None

"""Invented forecasts: the coming nights of every site, two months of past ones, a thermometer."""

import random
from collections.abc import Iterator, Sequence
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from lifecycle.agronomy.forecast_nights import ForecastIssue, NightTold
from lifecycle.demo.scenario import GARDENS, DemoSite
from lifecycle.demo.weather import PERSISTENCE, usual_day
from lifecycle.models import ForecastSource, Membership, Role, Site
from lifecycle.records.weather.forecasts import keep_issue
from lifecycle.records.weather.readings import type_reading
from lifecycle.records.weather.sensors import keep_reading, new_address

NIGHTS_TOLD = 7
PAIRS = range(15, 75)
"""Nights ago that a low is on record of, beside what was told of them."""

LEADS = 4
WARMER_TOLD_C = 0.8
"""By how much the invented forecasts are too warm for a garden in a hollow."""

MISS_C, MISS_MORE_C = 1.4, 0.4
"""The spread of what they miss by on the same day, and how much more it is a day earlier."""

HOURS_HEARD = 20


def tell_nights(now: datetime) -> None:
    """Let members have typed the coming nights, and at all sites but the last the past ones too.

    The first site's own thermometer sends its readings.
    """
    sites = {site.name: site for site in Site.objects.select_related("garden")}
    scenes = [scene for garden in GARDENS for scene in garden.sites]
    for scene in scenes:
        site = sites[scene.name]
        members = _members(site)
        rng = random.Random(scene.climate.seed)  # nosec B311 # invented data, the same each time
        lows = _lows(scene, site.local_day(now), rng)
        if scene is not scenes[-1]:
            _tell_past(site, members, lows, rng, now)
        coming = [site.local_day(now) + timedelta(ahead) for ahead in range(NIGHTS_TOLD)]
        told = tuple(_told(night, round(lows[night], 1), rng) for night in coming)
        at = now - timedelta(hours=1)
        keep_issue(site, _TYPED, ForecastIssue(at, told), now=at, by=members[-1].person)
    _hear(sites[scenes[0].name], scenes[0], now)


_TYPED = ForecastSource.Kind.TYPED


def _members(site: Site) -> list[Membership]:
    at_work = Membership.objects.filter(garden=site.garden, left_on__isnull=True)
    return list(
        at_work.exclude(role=Role.COMMITTEE).select_related("person", "garden").order_by("pk")
    )


def _lows(scene: DemoSite, today: date, rng: random.Random) -> dict[date, float]:
    """Return a low for each night, in which a cold one tends to follow a cold one."""
    found: dict[date, float] = {}
    off = 0.0
    for back in range(PAIRS.stop + LEADS, -NIGHTS_TOLD, -1):
        night = today - timedelta(back)
        off = PERSISTENCE * off + rng.gauss(0, 1 - PERSISTENCE)
        found[night] = usual_day(scene.climate, night)[0] + off * scene.climate.restless
    return found


def _told(night: date, low_c: float, rng: random.Random) -> NightTold:
    wind = round(rng.uniform(0.5, 4.5), 1)
    return NightTold(night, low_c, None, wind, float(rng.randrange(0, 101, 10)), None)


def _tell_past(
    site: Site,
    members: Sequence[Membership],
    lows: dict[date, float],
    rng: random.Random,
    now: datetime,
) -> None:
    """Set down forecasts of the past nights, typed at nine in the morning, and their lows."""
    today = site.local_day(now)
    for back in reversed(PAIRS):
        issued_on = today - timedelta(back)
        at = datetime.combine(issued_on, time(9), ZoneInfo(site.time_zone))
        told = tuple(_missed(issued_on, lows, rng))
        keep_issue(site, _TYPED, ForecastIssue(at, told), now=at, by=members[0].person)
        type_reading(
            rng.choice(members),
            site,
            day=issued_on + timedelta(1),
            tmin_c=round(lows[issued_on], 1),
            tmax_c=None,
            rain_mm=None,
            now=now,
        )


def _missed(issued_on: date, lows: dict[date, float], rng: random.Random) -> Iterator[NightTold]:
    for lead in range(LEADS):
        night = issued_on + timedelta(lead)
        miss = WARMER_TOLD_C + rng.gauss(0, MISS_C + lead * MISS_MORE_C)
        yield _told(night, round(lows[night] + miss, 1), rng)


def _hear(site: Site, scene: DemoSite, now: datetime) -> None:
    """Give a site's thermometer its address, and let it have sent a reading every hour."""
    owner = next(member for member in _members(site) if member.role == Role.OWNER)
    address = new_address(owner, site, now=now - timedelta(days=60))
    low, high = usual_day(scene.climate, site.local_day(now))
    for back in range(HOURS_HEARD, -1, -1):
        at = now - timedelta(hours=back)
        hour = at.astimezone(ZoneInfo(site.time_zone)).hour
        # Warmest at three in the afternoon, coldest twelve hours away.
        warmth = abs(abs(hour - 15) - 12) / 12
        keep_reading(address, air_c=low + (high - low) * warmth, at=at, now=at)

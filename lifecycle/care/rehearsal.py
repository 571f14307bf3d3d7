"""The plan rehearsed over the years of a station record, as if living through each.

For every year the site is known only by other years (``rehearsal_years``). The plan's season
gives the window to plant out and the day to lift, and each evening's next seven nights, taken
from the record as a forecast that never errs, hold the planting back or let it go ahead as
they do on a site's page. Then the year's own nights tell what a plant left uncovered met.

The low dated a day counts for the day of planting out and for the day of lifting, whichever
side of the day it fell on: the careful way.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from lifecycle.agronomy.daily_record import DailyRecord
from lifecycle.care.policy import policy_of
from lifecycle.care.readiness import SLACK_C
from lifecycle.care.rehearsal_nights import RecordNights
from lifecycle.care.seasons import OVERDUE, season
from lifecycle.care.site_dates import SiteDates, for_crop
from lifecycle.care.steps import Window
from lifecycle.handbook import Crop, days, fact
from lifecycle.life.growing_year import growing_year_start

SLACK_F = SLACK_C * 1.8
MIDSUMMER = {False: (8, 1), True: (2, 1)}
"""By southern or not: the day on which the freezes of spring end, as in the freeze dates."""


CROP_KEYS = {"pepper": "annuum", "tomato": "tomato_indeterminate", "eggplant": "eggplant"}
"""The crops to rehearse by the name a person gives, with the key of one that stands for all."""


class Advice(StrEnum):
    """What planting out went by."""

    NIGHTS = "nights"
    DATES = "dates"


class Winter(StrEnum):
    """Where the plant spends the winter."""

    LIFTED = "lifted"
    GROUND = "ground"


def usual_winter(dates: SiteDates, crop: Crop) -> Winter:
    """Return how a crop usually ends its season at a site: only peppers are kept in the ground."""
    kept = crop.group == "pepper" and dates.keeps_in_ground
    return Winter.GROUND if kept else Winter.LIFTED


@dataclass(frozen=True, slots=True)
class RehearsedYear:
    """One year lived through.

    ``plant_out`` None: the nights never let it out. ``lift`` None: it stayed out. ``until`` is
    the last day counted. ``chilled``, ``frozen`` and ``protected`` are the days out whose low
    lay below the crop's chilling limit, at or below 32 F and at or below 36 F. ``could_have``
    is the first day, looking back, that would have done: its seven nights allowed planting
    out and no killing night followed before ``midsummer``. ``days_waited`` counts from it; None
    where nights hold nothing back or no such day came.
    """

    year: int
    plant_out: date | None
    lift: date | None
    until: date
    chilled: tuple[date, ...]
    frozen: tuple[date, ...]
    protected: tuple[date, ...]
    could_have: date | None
    days_waited: int | None
    midsummer: date

    @property
    def frozen_in_spring(self) -> tuple[date, ...]:
        """The frozen nights between planting out and midsummer."""
        return tuple(day for day in self.frozen if day < self.midsummer)


@dataclass(frozen=True, slots=True)
class Rehearsal:
    """Every year of a record that could be rehearsed, and those left out for missing nights."""

    years: tuple[RehearsedYear, ...]
    left_out: tuple[int, ...]


def rehearse(
    record: DailyRecord,
    sites: Mapping[int, SiteDates],
    crop: Crop,
    winter: Winter,
    advice: Advice = Advice.NIGHTS,
) -> Rehearsal:
    """Live through the years of ``sites`` (``known_sites`` of the same record).

    The choice of 50 or 55 F is that of each site's policy. A year is left out when the record
    lacks more than five of its nights between the first day allowed and the last day counted.
    """
    nights = RecordNights.of(record)
    limits = _Limits.of(crop, nights)
    years, left_out = [], []
    for year, dates in sites.items():
        lived = _live(nights, limits, for_crop(dates, crop), year, winter, advice)
        if lived is None:
            left_out.append(year)
        else:
            years.append(lived)
    return Rehearsal(tuple(years), tuple(left_out))


def under_setting(sites: Mapping[int, SiteDates], night: str) -> dict[int, SiteDates]:
    """Return the sites with "50" or "55" chosen for the nights that peppers go out by."""
    chosen = {}
    for year, dates in sites.items():
        policy = policy_of({**dict(dates.policy.chosen), "plant_out_night": night})
        chosen[year] = replace(dates, policy=policy)
    return chosen


@dataclass(frozen=True, slots=True)
class _Limits:
    """The nights of a record, by what they do to a crop left uncovered."""

    chilled: NDArray[np.bool_]
    frozen: NDArray[np.bool_]
    protected: NDArray[np.bool_]

    @classmethod
    def of(cls, crop: Crop, nights: RecordNights) -> "_Limits":
        chill = crop.find("chill_night") or fact("lift.night")
        return cls(
            chilled=nights.lows_f < _f(chill.si) - SLACK_F,
            frozen=nights.lows_f <= _f(fact("rehearsal.killing_night").si) + nights.slack_f,
            protected=nights.lows_f <= _f(fact("rehearsal.protect_night").si) + nights.slack_f,
        )


def _f(celsius: float) -> float:
    return celsius * 1.8 + 32


def _live(
    nights: RecordNights,
    limits: _Limits,
    dates: SiteDates,
    year: int,
    winter: Winter,
    advice: Advice,
) -> RehearsedYear | None:
    """Return one year, or None when the record lacks too many of its nights."""
    current, following = season(dates, year), season(dates, year + 1)
    lift = current.lift.best if winter is Winter.LIFTED and current.lift else None
    until = lift or following.plant_out.best - timedelta(1)
    opens = current.plant_out.earliest
    if nights.missing(opens, until) > days("rehearsal.most_missing"):
        return None
    out = _day_out(nights, dates, current.plant_out, advice)
    if out is not None and out >= until:
        out = None
    midsummer = date(year + dates.southern, *MIDSUMMER[dates.southern])
    could_have = _could_have(nights, limits, dates, year, midsummer)
    stood = nights.span(out, until) if out else slice(0, 0)
    return RehearsedYear(
        year=year,
        plant_out=out,
        lift=lift,
        until=until,
        chilled=nights.days(limits.chilled, stood),
        frozen=nights.days(limits.frozen, stood),
        protected=nights.days(limits.protected, stood),
        could_have=could_have,
        days_waited=max((out - could_have).days, 0) if out and could_have else None,
        midsummer=midsummer,
    )


def _day_out(nights: RecordNights, dates: SiteDates, window: Window, advice: Advice) -> date | None:
    """Return the day on which the site says plant out: ready nights, or the best day come."""
    if advice is Advice.DATES:
        return window.best
    wanted, coldest = dates.planting_nights, nights.coldest_f
    # A night that is not known makes no week ready, and holds nothing back.
    ready = nights.whole_week & (coldest >= _f(wanted.ready_c) - SLACK_F)
    held = coldest < _f(wanted.allowed_c) - SLACK_F
    last = window.latest + timedelta(OVERDUE)
    early = nights.first_day(ready, nights.span(window.earliest, last))
    due = nights.first_day(~held, nights.span(window.best, last))
    return min((day for day in (early, due) if day is not None), default=None)


def _could_have(
    nights: RecordNights, limits: _Limits, dates: SiteDates, year: int, midsummer: date
) -> date | None:
    """Return the first day that, looking back, would have done, or None."""
    wanted = dates.planting_nights
    if dates.stretch(wanted.ready_c).always:
        return None
    starts, ends = growing_year_start(year, dates.year_starts_in), midsummer - timedelta(1)
    killing = nights.days(limits.frozen, nights.span(starts, ends))
    safe = killing[-1] if killing else starts  # its own week is no mild one
    mild = nights.whole_week & (nights.coldest_f >= _f(wanted.allowed_c) - SLACK_F)
    return nights.first_day(mild, nights.span(safe, ends))

"""The plan rehearsed over the years of a site's own record, as a chart, a table and words."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any, get_args

import numpy as np
from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from lifecycle.agronomy.daily_record import DailyRecord, RecordError, Units
from lifecycle.agronomy.record_reader import read_daily_record
from lifecycle.agronomy.warm_nights import smoothed_minima
from lifecycle.care.rehearsal import (
    CROP_KEYS,
    Rehearsal,
    RehearsedYear,
    Winter,
    rehearse,
    under_setting,
    usual_winter,
)
from lifecycle.care.rehearsal_summary import RehearsalSummary, Spread, summary_of
from lifecycle.care.rehearsal_years import known_sites
from lifecycle.care.site_dates import SiteDates, for_crop
from lifecycle.handbook import CROPS, SOURCES, Crop, fact
from lifecycle.models import Site, WeatherRecord
from lifecycle.reminders.work.planning import climate_of
from lifecycle.web.door import enter, page, site_or_404
from lifecycle.web.weather.rehearsal_chart import rehearsal_chart
from lifecycle.web.words import counted, month_day_words

CROP_WORDS = {"pepper": "Peppers", "tomato": "Tomatoes", "eggplant": "Eggplants"}
WINTER_WORDS = {
    Winter.LIFTED: "taken in before the cold",
    Winter.GROUND: "left in the ground",
}
NIGHT_WORDS = {"55": "55 °F (12.8 °C)", "50": "50 °F (10 °C)"}
_DATE_ONLY = "%-d %b %Y"


@dataclass(frozen=True, slots=True)
class Asked:
    """Which crop the page shows, and where it spends the winter."""

    crop: str
    winter: Winter


@require_safe
def rehearsal(request: HttpRequest, slug: str, pk: int) -> HttpResponse:
    """Show what the plan would have said in each year of the record, and what the nights did."""
    member = enter(request, slug)
    site = site_or_404(member, pk)
    row = WeatherRecord.objects.filter(site=site, in_use=True).first()
    context: dict[str, Any] = {"site": site, "record": row}
    if row is not None:
        try:
            context |= _rehearsed(request, site, row)
        except RecordError as problem:
            context["problem"] = str(problem)
    return page(request, "rehearsal.html", context)


def _rehearsed(request: HttpRequest, site: Site, row: WeatherRecord) -> dict[str, Any]:
    """Return what the page shows of a record. Raises RecordError when it is too short."""
    record = _as_added(row, site)
    sites = known_sites(record, "south" if site.southern else "north")
    planned = climate_of(site).dates
    policy = planned.policy if planned else next(iter(sites.values())).policy
    night = policy.of("plant_out_night")
    asked = _asked(request, planned or next(iter(sites.values())))
    crop = CROPS[CROP_KEYS[asked.crop]]
    found = _by_setting(record, sites, crop, asked, night)
    shown = found[night]
    return {
        "asked": asked,
        "crop_name": CROP_WORDS[asked.crop],
        "winter_words": WINTER_WORDS[asked.winter],
        "crops": [(key, words, key == asked.crop) for key, words in CROP_WORDS.items()],
        "winters": [(key, words, key is asked.winter) for key, words in WINTER_WORDS.items()],
        "chart": rehearsal_chart(shown.years),
        "years": [_row(year) for year in reversed(shown.years)],
        "left_out": shown.left_out,
        "sentences": [
            (NIGHT_WORDS[key], key == night, _sentences(summary_of(each)))
            for key, each in found.items()
        ],
        "compared": len(found) > 1,
        **_limits(crop, sites),
    }


def _limits(crop: Crop, sites: Mapping[int, SiteDates]) -> dict[str, Any]:
    """Return the limits behind every row, in C, and whose word they are."""
    nights = for_crop(next(iter(sites.values())), crop).planting_nights
    return {
        "chill_c": crop.fact("chill_night").si,
        "ready_source": SOURCES[nights.ready_source],
        "allowed_source": SOURCES[nights.allowed_source],
        "lift_source": SOURCES[fact("lift.night").source],
        "freeze_source": SOURCES[fact("rehearsal.killing_night").source],
    }


def _by_setting(
    record: DailyRecord, sites: Mapping[int, SiteDates], crop: Crop, asked: Asked, night: str
) -> dict[str, Rehearsal]:
    """Return the rehearsal at the site's choice, and for peppers at the other one beside it."""
    choices = [night]
    if asked.crop == "pepper":
        choices += [key for key in NIGHT_WORDS if key != night]
    return {key: rehearse(record, under_setting(sites, key), crop, asked.winter) for key in choices}


def _as_added(row: WeatherRecord, site: Site) -> DailyRecord:
    """Read the kept bytes as they were read when they came, in the units that were stated then."""
    kept = np.array([np.nan if low is None else low for low in row.climate["curve_c"]])
    for units in (None, *get_args(Units)):
        try:
            record = read_daily_record(bytes(row.source_gz), units=units, latitude=site.latitude)
        except RecordError:
            continue
        if np.allclose(smoothed_minima(record), kept, atol=0.01, equal_nan=True):
            return record
    raise RecordError(
        "The kept file no longer gives the climate that was computed from it. "
        "Send the station file again."
    )


def _asked(request: HttpRequest, dates: SiteDates) -> Asked:
    """Return the crop and the winter of the address; anything else shows what is usual."""
    crop, winter = request.GET.get("crop", ""), request.GET.get("winter", "")
    crop = crop if crop in CROP_KEYS else "pepper"
    known = winter in tuple(Winter)
    return Asked(crop, Winter(winter) if known else usual_winter(dates, CROPS[CROP_KEYS[crop]]))


def _row(year: RehearsedYear) -> dict[str, Any]:
    return {
        "year": year.year,
        "plant_out": _words(year.plant_out, "never"),
        "lift": _words(year.lift, "stays out"),
        "chilled": len(year.chilled),
        "frozen": ", ".join(_words(day, "") for day in year.frozen[:3])
        + (f" and {len(year.frozen) - 3} more" if len(year.frozen) > 3 else ""),
        "protected": len(year.protected),
        "could_have": _words(year.could_have, "–"),
        "waited": "–" if year.days_waited is None else counted(year.days_waited, "day"),
    }


def _words(day: date | None, otherwise: str) -> str:
    return f"{day:{_DATE_ONLY}}" if day else otherwise


def _sentences(summary: RehearsalSummary) -> list[str]:
    """Return what the years came to, a sentence each."""
    years = counted(summary.years, "year")
    found = []
    if summary.plant_out is not None:
        found.append(f"In {years} they would have gone out {_spread(summary.plant_out)}.")
    if summary.not_planted:
        found.append(f"In {counted(summary.not_planted, 'year')} the nights never let them out.")
    if summary.lift is not None:
        found.append(f"They would have come in {_spread(summary.lift)}.")
    found.append(_frozen(summary))
    found.append(
        f"{_nights(summary.chilled_nights)} would have chilled it, and "
        f"{counted(summary.protected_nights, 'night')} called for a cover."
    )
    if summary.days_waited:
        waited = f"{summary.days_waited:g} {'day' if summary.days_waited == 1 else 'days'}"
        found.append(f"Waiting cost {waited} in the middle year.")
    elif summary.days_waited is not None:
        found.append("Waiting cost no day in the middle year.")
    return found


def _frozen(summary: RehearsalSummary) -> str:
    met = (
        f"{_nights(summary.frozen_nights)} at or below 32 °F (0 °C) would have met a plant left "
        "uncovered"
    )
    if not summary.frozen_nights:
        return f"{met}."
    spring = summary.frozen_in_spring or "none"
    return f"{met}, in {counted(summary.frozen_years, 'year')}; {spring} before midsummer."


def _nights(number: int) -> str:
    return counted(number, "night") if number else "No night"


def _spread(spread: Spread) -> str:
    first, middle, last = (
        month_day_words(f"{day[0]:02d}-{day[1]:02d}")
        for day in (spread.first, spread.middle, spread.last)
    )
    if first == last:
        return f"on {first}"
    return f"between {first} and {last}, on {middle} in the middle year"

"""The nights of a forecast as a table, and how right forecasts were, in the reader's units."""

from collections.abc import Iterator, Sequence
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from lifecycle.care.frost_words import chance_words
from lifecycle.care.wording import degrees
from lifecycle.models import FrostNight, NightForecast, Person, Site
from lifecycle.reminders.weather.forecast_skill import error_of, pairs_at
from lifecycle.reminders.weather.night_forecasts import attribution
from lifecycle.web.words import counted, long_day

LEADS = range(4)
MILES_IN_M_S = 2.236936

_COLUMNS = {
    "low": "Low",
    "at": "At",
    "wind": "Wind",
    "cloud": "Cloud",
    "chance": "Chance",
    "issued": "From",
}


def told_table(site: Site, told: Sequence[NightForecast], person: Person) -> dict[str, Any]:
    """Return the nights as rows of the columns that any of them fills.

    A source that told all of them is named once, not beside each.
    """
    nights = [_cells(site, row, night, person) for row, night in _judged(site, told)]
    issued = {cells["issued"] for cells in nights}
    shown = [
        name
        for name in _COLUMNS
        if any(cells[name] for cells in nights) and not (name == "issued" and len(issued) == 1)
    ]
    return {
        "columns": [_COLUMNS[name] for name in shown],
        "nights": [
            (cells["night"], [(_COLUMNS[name], cells[name]) for name in shown]) for cells in nights
        ],
        "issued": issued.pop() if len(issued) == 1 else "",
    }


def _judged(
    site: Site, told: Sequence[NightForecast]
) -> Iterator[tuple[NightForecast, FrostNight | None]]:
    nights = FrostNight.objects.filter(site=site, night__in=[row.night for row in told])
    judged = {night.night: night for night in nights}
    for row in told:
        yield row, judged.get(row.night)


def _cells(
    site: Site, row: NightForecast, night: FrostNight | None, person: Person
) -> dict[str, str]:
    return {
        "night": long_day(row.night),
        "low": degrees(row.low_c, person.temperature),
        "at": _clock(row.low_at, site),
        "wind": _wind(row.wind_m_s, person),
        "cloud": "" if row.cloud_percent is None else f"{row.cloud_percent:.0f} %",
        "chance": _chance(night),
        "issued": attribution(row),
    }


def _clock(moment: datetime | None, site: Site) -> str:
    return "" if moment is None else f"{moment.astimezone(ZoneInfo(site.time_zone)):%H:%M}"


def _wind(wind_m_s: float | None, person: Person) -> str:
    if wind_m_s is None:
        return ""
    if person.length == Person.Length.INCHES:
        return f"{wind_m_s * MILES_IN_M_S:.0f} mph"
    return f"{wind_m_s:.1f} m/s"


def _chance(night: FrostNight | None) -> str:
    if night is None:
        return ""
    return f"{chance_words(night.harm_chance)} to harm, {chance_words(night.kill_chance)} to kill"


def skill_rows(site: Site, person: Person, now: datetime) -> list[dict[str, str | int]]:
    """Return how far forecasts erred at each lead: as learned here, or as published."""
    pairs = pairs_at(site, LEADS, now)
    found: list[dict[str, str | int]] = []
    for lead in LEADS:
        error = error_of(pairs[lead], lead, None)
        found.append(
            {
                "lead": "The same day" if lead == 0 else f"{counted(lead, 'day')} before",
                "pairs": len(pairs[lead]),
                "bias": _bias(error.bias_c, person),
                "sd": _difference(error.spread_c, person),
                "basis": "learned here" if error.pairs else "as published",
            }
        )
    return found


def _bias(bias_c: float, person: Person) -> str:
    """Return on which side nights fell of their forecasts."""
    said = _difference(abs(bias_c), person)
    if said.startswith("0.0"):
        return "as told"
    return f"{said} {'colder' if bias_c > 0 else 'warmer'} than told"


def _difference(size_c: float, person: Person) -> str:
    fahrenheit = person.temperature == Person.Temperature.FAHRENHEIT
    return f"{size_c * 1.8 if fahrenheit else size_c:.1f} °{person.temperature}"

"""How far forecasts erred at a site: past forecasts paired with what the thermometer said.

A pair is a night's low and the newest forecast for it that was issued, before 16:00, so many days
earlier. Nights told as calm err otherwise than windy ones and are learned apart.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db.models import OuterRef, Subquery

from lifecycle.agronomy.forecast_errors import ForecastError, known_error, learn
from lifecycle.agronomy.frost_night import is_radiation_night
from lifecycle.handbook import fact
from lifecycle.models import DayReading, NightForecast, Site

LOOK_BACK = timedelta(days=731)
FARTHEST_LEAD = 7


@dataclass(frozen=True, slots=True)
class Pair:
    """What a night was told as and what it was, in C; ``calm`` as told, None where it was not."""

    night: date
    forecast_c: float
    happened_c: float
    calm: bool | None


def calm_of(wind_m_s: float | None) -> bool | None:
    """Return whether a night is told as calm (FAO: wind under 2 m/s); None: no wind is told."""
    return None if wind_m_s is None else is_radiation_night(wind_m_s, 0.0)


def pairs_at(site: Site, leads: Sequence[int], now: datetime) -> dict[int, list[Pair]]:
    """Return the pairs of the past two years at each lead, by night, with two queries in all."""
    today = site.local_day(now)
    read = DayReading.objects.filter(site=site, day__gt=today - LOOK_BACK, day__lte=today)
    lows = {
        day - timedelta(1): low for day, low in read.values_list("day", "tmin_c") if low is not None
    }
    told = NightForecast.objects.filter(
        site=site, lead_nights__in=leads, night__gte=today - LOOK_BACK, night__lt=today
    )
    alike = told.filter(night=OuterRef("night"), lead_nights=OuterRef("lead_nights"))
    last = alike.order_by("-issued_at", "-pk").values("pk")[:1]
    found: dict[int, list[Pair]] = {lead: [] for lead in leads}
    rows = told.filter(pk=Subquery(last)).order_by("night")
    for lead, night, low_c, wind in rows.values_list("lead_nights", "night", "low_c", "wind_m_s"):
        if lead is not None and night in lows:
            found[lead].append(Pair(night, low_c, lows[night], calm_of(wind)))
    return found


def error_of(pairs: Sequence[Pair], lead_nights: int, calm: bool | None) -> ForecastError:
    """Return the error learned from 30 pairs of this kind of air, else from 30 of any.

    With fewer it is the published one for the lead.
    """
    alike = [pair for pair in pairs if calm is not None and pair.calm is calm]
    return _learned(alike) or _learned(pairs) or published_error(lead_nights)


def _learned(pairs: Sequence[Pair]) -> ForecastError | None:
    return learn([pair.forecast_c for pair in pairs], [pair.happened_c for pair in pairs])


def published_error(lead_nights: int) -> ForecastError:
    """Return the error of forecasts in general for so many nights ahead."""
    wider = lead_nights * fact("forecast_error.each_day_before").si
    return known_error(fact("forecast_error.same_day").si + wider)


def learned_error(site: Site, lead_nights: int, calm: bool | None, now: datetime) -> ForecastError:
    """Return ``error_of`` the site's own pairs at a lead; nights under way count as tonight."""
    lead = min(max(lead_nights, 0), FARTHEST_LEAD)
    return error_of(pairs_at(site, [lead], now)[lead], lead, calm)

"""How fresh a kept forecast is."""

from datetime import datetime, timedelta

from lifecycle.models import ForecastSource, NightForecast

FRESH = timedelta(hours=6)
LONG_FRESH = timedelta(hours=18)
"""How old may be what a member typed, or an issue that its service still gives as its newest."""


def stale(forecast: NightForecast, now: datetime) -> bool:
    """Return whether a forecast is too old to act on: over 6 hours, as typed over 18.

    A gridpoint forecast is issued a few times a day: it is fresh for 18 hours while the service
    still answers that it is the newest.
    """
    age = now - forecast.issued_at
    if forecast.source == ForecastSource.Kind.TYPED:
        return age > LONG_FRESH
    if forecast.source == ForecastSource.Kind.GRIDPOINT:
        heard = max(forecast.received_at, _worked_at(forecast) or forecast.received_at)
        return age > LONG_FRESH or now - heard > FRESH
    return age > FRESH


def _worked_at(forecast: NightForecast) -> datetime | None:
    source = getattr(forecast.site, "forecast_source", None)
    return source.worked_at if source is not None and source.kind == forecast.source else None

"""From a daily record to the climate of its site."""

import numpy as np
from numpy.typing import NDArray

from lifecycle.agronomy.climate_notes import climate_notes
from lifecycle.agronomy.climate_summary import ClimateSummary, RecordSummary
from lifecycle.agronomy.daily_record import DailyRecord, RecordError
from lifecycle.agronomy.freeze import THRESHOLDS_F, freeze_dates, freeze_grid
from lifecycle.agronomy.hardiness import Window, zone_estimate
from lifecycle.agronomy.hemisphere import hemisphere_of
from lifecycle.agronomy.quality import flat_runs
from lifecycle.agronomy.warm_nights import (
    LIMITS_F,
    smoothed_maxima,
    smoothed_minima,
    warm_nights,
)

__all__ = ["ClimateSummary", "summarise"]


def summarise(
    record: DailyRecord,
    *,
    latitude: float | None = None,
    window: Window = "season",
    first_year: int | None = None,
    last_year: int | None = None,
) -> ClimateSummary:
    """Zone, freeze dates and warm nights of a record.

    `latitude` (degrees, south negative) overrules the record's own; `window` is the twelve months
    of which the coldest night is taken (see `hardiness.annual_minima_f`); `first_year` and
    `last_year` narrow the record to those calendar years before anything is computed. A record too
    short for an answer gives None there. RecordError when the years or the latitude make no
    sense.
    """
    if latitude is not None and not -90 <= latitude <= 90:
        raise RecordError(f"{latitude:g} is not a latitude; give degrees from -90 to 90.")
    record = record.between(first_year, last_year)
    hemisphere, sentence = hemisphere_of(record, latitude)
    grid = freeze_grid(record, hemisphere)
    curve = smoothed_minima(record)
    described = _described(record, latitude)
    zone = zone_estimate(record, hemisphere, window)
    freeze = {limit: freeze_dates(record, limit, hemisphere, grid) for limit in THRESHOLDS_F}
    return ClimateSummary(
        record=described,
        zone=zone,
        freeze=freeze,
        warm_nights={
            limit: warm_nights(record, limit, hemisphere, curve, grid) for limit in LIMITS_F
        },
        curve_c=_curve(curve),
        hemisphere=hemisphere,
        notes=climate_notes(record, described, zone, freeze, sentence),
        curve_max_c=_maxima(record),
    )


def _curve(values: NDArray[np.float64]) -> tuple[float | None, ...]:
    return tuple(None if np.isnan(value) else round(float(value), 4) for value in values)


def _maxima(record: DailyRecord) -> tuple[float | None, ...] | None:
    if np.isnan(record.tmax_c).all():
        return None
    return _curve(smoothed_maxima(record))


def _described(record: DailyRecord, latitude: float | None) -> RecordSummary:
    first, last = record.dates[0].item(), record.dates[-1].item()
    days = int(np.count_nonzero(~np.isnan(record.tmin_c)))
    return RecordSummary(
        format=record.format,
        station=record.station,
        latitude=record.latitude if latitude is None else latitude,
        first=first,
        last=last,
        days=days,
        missing=(last - first).days + 1 - days,
        rejected=dict(record.rejected),
        duplicates=record.duplicates,
        flat_runs=flat_runs(record),
        native_unit=record.native_unit,
        precision=record.precision,
    )

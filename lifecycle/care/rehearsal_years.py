"""A site as it is known without one of its years: nothing of the year to come is looked at."""

from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lifecycle.agronomy.daily_record import DailyRecord, RecordError, celsius
from lifecycle.agronomy.day_of_year import day_of_year
from lifecycle.agronomy.freeze import FreezeDates, FreezeSide, freeze_dates, freeze_grid
from lifecycle.agronomy.hardiness import WHOLE_YEAR, zone_estimate
from lifecycle.agronomy.warm_nights import LIMITS_F, smoothed_minima, warm_stretch
from lifecycle.agronomy.year_grid import JULY, Hemisphere, YearGrid
from lifecycle.care.site_dates import SiteDates, from_report
from lifecycle.handbook import fact

FREEZES_F = (32, 28)
"""A freeze, and a hard one."""

STARTS_IN = {"north": 1, "south": 7}
"""The month in which a year to rehearse begins: its winter lies at the turn."""


def known_sites(
    record: DailyRecord, hemisphere: Hemisphere, *, as_known: bool = False
) -> dict[int, SiteDates]:
    """Return, for each whole year of a record, the site's dates by the climate of the others.

    ``as_known`` takes only the years before it. A year begins in January, in the south in July, and
    is named by its beginning; it is whole with at least 360 nights. Years that ten others do
    not tell of are left out. Raises RecordError when none is left.
    """
    grid = freeze_grid(record, hemisphere)
    whole = grid.years[grid.counts >= WHOLE_YEAR]
    needed = round(fact("rehearsal.years_known").value)
    zone = zone_estimate(record, hemisphere, "season")
    anchors = {
        "half_zone": zone.half_zone,
        "mean_extreme_min_c": zone.mean_extreme_min_c,
    }
    year_of_night = _years(record.dates, hemisphere)
    sites = {}
    for year in whole.tolist():
        known = whole < year if as_known else whole != year
        if np.count_nonzero(known) < needed:
            continue
        rows = grid.years < year if as_known else grid.years != year
        nights = year_of_night < year if as_known else year_of_night != year
        report, curve = _climate(record, hemisphere, _only(grid, rows), nights)
        sites[year] = from_report(
            {"zone": anchors, **report},
            [None if np.isnan(value) else round(float(value), 4) for value in curve],
            southern=hemisphere == "south",
            year_starts_in=STARTS_IN[hemisphere],
        )
    if not sites:
        raise RecordError(
            f"The record has {whole.size} whole years; a rehearsal needs {needed + 1}, "
            f"{needed} to know the site by and one to live through. Give a longer record."
        )
    return sites


def _years(dates: NDArray[np.datetime64], hemisphere: Hemisphere) -> NDArray[np.int64]:
    calendar = dates.astype("datetime64[Y]").astype(np.int64) + 1970
    if hemisphere == "north":
        return calendar
    return np.asarray(calendar - (day_of_year(dates) < JULY), dtype=np.int64)


def _only(grid: YearGrid, rows: NDArray[np.bool_]) -> YearGrid:
    return YearGrid(grid.first_day, grid.years[rows], grid.values[rows], grid.counts[rows])


def _climate(
    record: DailyRecord, hemisphere: Hemisphere, grid: YearGrid, nights: NDArray[np.bool_]
) -> tuple[dict[str, Any], NDArray[np.float64]]:
    """Return freeze dates and warm nights of these nights as a report holds them, and the curve."""
    part = replace(
        record,
        dates=record.dates[nights],
        tmin_c=record.tmin_c[nights],
        tmax_c=record.tmax_c[nights],
        precip_mm=None,
    )
    curve = smoothed_minima(part)
    freezes = {
        str(limit): _sides(freeze_dates(part, limit, hemisphere, grid)) for limit in FREEZES_F
    }
    warm = {}
    for limit in LIMITS_F:
        start, end = warm_stretch(curve, celsius(limit))
        warm[str(limit)] = {"start": start, "end": end}
    return {"freeze": freezes, "warm_nights": warm}, curve


def _sides(freeze: FreezeDates) -> dict[str, Any]:
    def side(half: FreezeSide) -> dict[str, Any]:
        return {"share": half.share, "p10": half.dates[10], "p50": half.dates[50]}

    return {"spring": side(freeze.spring), "autumn": side(freeze.autumn)}

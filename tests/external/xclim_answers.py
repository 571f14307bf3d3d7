"""What xclim says about the station records; needs xclim, and nothing else here imports it."""

import installed_records
import numpy as np
import xarray
import xclim
from xclim import indices

from lifecycle.agronomy.daily_record import DailyRecord
from lifecycle.agronomy.record_reader import read_daily_record

RECORDS = ("champion", "brussels", "cambridge", "hyderabad")
THRESHOLDS_F = (36, 32, 28)


def version() -> str:
    """xclim's version."""
    return str(xclim.__version__)


def record(name: str) -> DailyRecord:
    """One of the station records, read by our own reader."""
    return read_daily_record(installed_records.aquacrop_csv(name))


def minima(record: DailyRecord, units: str) -> xarray.DataArray:
    """Tmin as xclim wants it, in degC or degF."""
    values = record.tmin_c if units == "degC" else record.tmin_c * 1.8 + 32
    return xarray.DataArray(
        values,
        dims="time",
        coords={"time": record.dates.astype("datetime64[ns]")},
        attrs={"units": units},
    )


def half_zone_numbers(record: DailyRecord) -> dict[int, float]:
    """xclim's half-zone number of 4, 5 and 6 (and more) years ending the record, by years.

    xclim 0.62 gives floor((F + 60) / 5) when fed degrees F.
    """
    tmin = minima(record, "degF")
    years = record.dates.astype("datetime64[Y]").astype(int) + 1970
    total = int(years[-1] - years[0]) + 1
    found = {}
    for window in (4, 5, 6, total):
        zones = indices.hardiness_zones(tmin, window=window, method="usda", freq="YS")
        found[window] = float(zones.values[-1])
    return found


def freeze_days(record: DailyRecord, threshold_f: int) -> tuple[list[float], list[float]]:
    """Day of the year (leap years with 366) of each year's last and first freeze.

    The threshold carries half the stored step, as our own comparison does, so that a value that
    was rounded onto the limit counts.
    """
    limit = (threshold_f + record.slack_f() - 32) / 1.8
    tmin = minima(record, "degC")
    thresh = f"{limit:.6f} degC"
    last = indices.last_spring_frost(tmin, thresh=thresh, op="<=", before_date="08-01", freq="YS")
    first = indices.first_day_temperature_below(
        tmin, thresh=thresh, op="<=", after_date="08-01", freq="YS"
    )
    return list(map(float, last.values)), list(map(float, first.values))


def smoothed_climatology(record: DailyRecord) -> np.ndarray:
    """Mean Tmin of the 365 days of the year, 29 February left out, smoothed over 15 days."""
    tmin = minima(record, "degC").convert_calendar("noleap")
    mean = tmin.groupby("time.dayofyear").mean()
    wrapped = mean.pad(dayofyear=7, mode="wrap")
    return wrapped.rolling(dayofyear=15, center=True).mean().values[7:-7]


def answers(name: str) -> dict[str, object]:
    """Everything frozen for one record."""
    data = record(name)
    freezes = {t: freeze_days(data, t) for t in THRESHOLDS_F}
    return {
        "half_zone_numbers": {str(k): v for k, v in half_zone_numbers(data).items()},
        "last_freeze": {str(t): _or_none(last) for t, (last, _) in freezes.items()},
        "first_freeze": {str(t): _or_none(first) for t, (_, first) in freezes.items()},
        "curve_c": [round(float(v), 6) for v in smoothed_climatology(data)],
    }


def _or_none(days: list[float]) -> list[float | None]:
    return [None if np.isnan(day) else day for day in days]

"""Time the water balance of 1,000 beds for a year, and heat units of 37 years, as ratios.

The balance stands against the same arithmetic written out in numpy without checks or records of
its own; heat units of the Champion record, summed by year, against xclim's growing_degree_days,
both from arrays in memory. The answers must agree before anything is printed. Exit code 1 when
the balance takes more than one and a half times its floor, or heat units more than a tenth of
xclim's time.

    .venv-reference/bin/python benchmarks/water_and_heat.py
"""

import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE.parent / "tests" / "external"), str(HERE.parent)]

import xarray  # noqa: E402
import xclim_answers  # noqa: E402
from xclim import indices  # noqa: E402

from lifecycle.agronomy.daily_record import DailyRecord  # noqa: E402
from lifecycle.agronomy.heat_units import Method, heat_units  # noqa: E402
from lifecycle.agronomy.soil_water import water_balance  # noqa: E402

BEDS, DAYS = 1000, 365
REPEATS = 15
BALANCE_GOAL, HEAT_GOAL = 1.5, 0.1
BASE_C = 10

Floats = NDArray[np.float64]


def season(seed: int = 3) -> tuple[Floats, Floats, Floats, Floats, Floats, Floats]:
    """Start, available water, p, ETc, rain and irrigation of made-up beds, in mm."""
    random = np.random.default_rng(seed)
    available = random.uniform(15, 120, BEDS)
    wet = random.random((DAYS, 1)) < 0.25
    watered = random.random((DAYS, BEDS)) < 0.15
    return (
        available * random.uniform(0, 1, BEDS),
        available,
        random.uniform(0.2, 0.6, BEDS),
        random.uniform(0.5, 7, (DAYS, BEDS)),
        wet * random.uniform(1, 30, (DAYS, 1)),
        watered * random.uniform(5, 20, (DAYS, BEDS)),
    )


def written_out(
    start: Floats, available: Floats, p: Floats, etc: Floats, rain: Floats, given: Floats
) -> Floats:
    """The floor: depletion, stress, use and drainage of every day, stacked."""
    kept = np.empty((4, DAYS, BEDS))
    supply = rain + given
    depletion = start
    for day in range(DAYS):
        stress = np.clip((available - depletion) / ((1 - p) * available), 0.0, 1.0)
        net = depletion + stress * etc[day] - supply[day]
        kept[1, day] = stress
        kept[2, day] = stress * etc[day] - np.maximum(net - available, 0.0)
        kept[3, day] = np.maximum(-net, 0.0)
        depletion = np.clip(net, 0.0, available)
        kept[0, day] = depletion
    return kept


def yearly_units(record: DailyRecord) -> Floats:
    """Our degree-days over 10 C of each year."""
    units = heat_units(record.tmin_c, record.tmax_c, Method.AVERAGE, BASE_C)
    years = record.dates.astype("datetime64[Y]").astype(np.int64)
    return np.bincount(years - years[0], weights=units)


def means(record: DailyRecord) -> xarray.DataArray:
    """Daily means as xclim wants them."""
    return xarray.DataArray(
        (record.tmin_c + record.tmax_c) / 2,
        dims="time",
        coords={"time": record.dates.astype("datetime64[ns]")},
        attrs={"units": "degC"},
    )


def median_seconds(work: Callable[[], object]) -> float:
    """Median time of some runs after one to warm up."""
    work()
    times = []
    for _ in range(REPEATS):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return float(np.median(times))


def balance_ratio() -> float:
    """Compare and time the balance; print, and return our share of the floor's time."""
    beds = season()
    own, floor = water_balance(*beds), written_out(*beds)
    np.testing.assert_array_equal(
        np.stack([own.depletion, own.stress, own.used, own.drained]), floor
    )
    own_time = median_seconds(lambda: water_balance(*beds))
    floor_time = median_seconds(lambda: written_out(*beds))
    ratio = own_time / floor_time
    print(f"Water balance of {BEDS:,} beds for {DAYS} days, same answers")
    print(f"  numpy floor    {floor_time * 1000:8.2f} ms")
    print(f"  ours           {own_time * 1000:8.2f} ms   {ratio:.3f} of it (goal {BALANCE_GOAL})")
    return ratio


def heat_ratio() -> float:
    """Compare and time heat units; print, and return our share of xclim's time."""
    record = xclim_answers.record("champion")
    mean = means(record)
    thresh = f"{BASE_C} degC"

    def theirs() -> Floats:
        return np.asarray(indices.growing_degree_days(mean, thresh=thresh, freq="YS").values)

    np.testing.assert_allclose(yearly_units(record), theirs(), rtol=0, atol=1e-6)
    own_time, other_time = median_seconds(lambda: yearly_units(record)), median_seconds(theirs)
    sine_time = median_seconds(
        lambda: heat_units(record.tmin_c, record.tmax_c, Method.DOUBLE_SINE, BASE_C, 30)
    )
    ratio = own_time / other_time
    print(f"Heat units of Champion, {record.dates.size:,} days, same answers")
    print(f"  xclim {xclim_answers.version():<8} {other_time * 1000:8.2f} ms")
    print(f"  ours           {own_time * 1000:8.2f} ms   {ratio:.3f} of it (goal {HEAT_GOAL})")
    print(f"  double sine    {sine_time * 1000:8.2f} ms   (with a ceiling; xclim has none)")
    return ratio


def main() -> int:
    """Time both, and say by the exit code whether the goals are met."""
    met = [balance_ratio() <= BALANCE_GOAL, heat_ratio() <= HEAT_GOAL]
    return 0 if all(met) else 1


if __name__ == "__main__":
    sys.exit(main())

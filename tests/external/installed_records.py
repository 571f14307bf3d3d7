"""Daily records that ship inside installed data packages, read as data without importing them.

A missing package is an error, not a reason to skip: without it these checks would check nothing.
"""

from datetime import date, timedelta
from functools import cache
from importlib.util import find_spec
from pathlib import Path


def package_file(package: str, *parts: str) -> Path:
    """A file of an installed package; FileNotFoundError when it is not there."""
    spec = find_spec(package)
    if spec is None or not spec.submodule_search_locations:
        raise FileNotFoundError(f"the data package {package} is not installed")
    path = Path(spec.submodule_search_locations[0]).joinpath(*parts)
    if not path.is_file():
        raise FileNotFoundError(f"{path.name} is missing from the data package {package}")
    return path


@cache
def aquacrop_csv(name: str) -> bytes:
    """A climate file of `aquacrop` (Day Month Year Tmin Tmax ..., degrees C) as a plain CSV."""
    rows = package_file("aquacrop", "data", f"{name}_climate.txt").read_text().splitlines()[1:]
    lines = ["date,tmin_c,tmax_c,precip_mm"]
    for row in filter(None, map(str.split, rows)):
        day, month, year = (int(part) for part in row[:3])
        lines.append(f"{year:04d}-{month:02d}-{day:02d},{row[3]},{row[4]},{row[5]}")
    return "\n".join(lines).encode()


@cache
def champion_with_fills_csv() -> bytes:
    """CP.dat of `aquacrop` (YEAR JDAY MAX MIN RAIN RAD): Champion with long flat fills."""
    lines = ["date,tmin_c,tmax_c,precip_mm"]
    for row in package_file("aquacrop", "data", "CP.dat").read_text().splitlines():
        parts = row.split()
        if parts:
            day = date(int(parts[0]), 1, 1) + timedelta(days=int(parts[1]) - 1)
            lines.append(f"{day},{parts[3]},{parts[2]},{parts[4]}")
    return "\n".join(lines).encode()


def lincoln_csv() -> bytes:
    """Lincoln 11 SW, Nebraska, 2016: an NCEI daily-summaries CSV as it was fetched."""
    return package_file("bokeh_sampledata", "_data", "lincoln_weather.csv").read_bytes()


def seattle_csv() -> bytes:
    """Seattle 2012 to 2015 of `vega_datasets`: degrees C, dates with slashes."""
    return package_file("vega_datasets", "_data", "seattle-weather.csv").read_bytes()

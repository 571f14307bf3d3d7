"""Forecasts dropped into the folder: read every ten minutes, and never from outside it."""

from pathlib import Path
from typing import Any

import pytest

from lifecycle.models import ForecastSource, NightForecast
from lifecycle.reminders.weather.forecasting import fetch_all
from tests.conftest import World
from tests.reminders.forecast_server import KEPT
from tests.reminders.sources import MINUTE, OCTOBER, a_source, after

Kind = ForecastSource.Kind


@pytest.fixture
def folder(settings: Any, tmp_path: Path) -> Path:
    drop = tmp_path / "drop"
    drop.mkdir()
    settings.FORECAST_DROP = drop
    (tmp_path / "secret.csv").write_bytes((KEPT / "two_issues.csv").read_bytes())
    return drop


def test_a_dropped_file_is_read_every_ten_minutes(world: World, folder: Path) -> None:
    source = a_source(world.site, Kind.FILE, file_name="canal-bank.csv")
    assert fetch_all(now=OCTOBER) == 0
    assert after(source).last_error == (
        "There is no file canal-bank.csv in the forecast folder, or it cannot be read."
    )
    (folder / "canal-bank.csv").write_bytes((KEPT / "two_issues.csv").read_bytes())
    assert fetch_all(now=OCTOBER + MINUTE) == 3
    assert after(source).next_try_at == OCTOBER + 11 * MINUTE
    assert fetch_all(now=OCTOBER + 11 * MINUTE) == 0
    with (folder / "canal-bank.csv").open("a") as file:
        file.write("2026-10-14T19:05Z,2026-10-14,-1.5,,,\nnonsense\n")
    fetch_all(now=OCTOBER + 21 * MINUTE)
    assert after(source).last_error.startswith("Line 6 has 1 values")
    assert NightForecast.objects.count() == 3


@pytest.mark.parametrize("name", ["../secret.csv", "link.csv", "", ".", "sub/x.csv"])
def test_a_file_outside_the_folder_is_never_read(world: World, folder: Path, name: str) -> None:
    (folder / "link.csv").symlink_to(folder.parent / "secret.csv")
    source = a_source(world.site, Kind.FILE, file_name=name)
    assert fetch_all(now=OCTOBER) == 0
    assert "forecast folder" in after(source).last_error

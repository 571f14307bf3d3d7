"""Ready or not: the database, the migrations and the age of the ticks."""

from datetime import timedelta
from typing import Any

import pytest
from django.db import DatabaseError
from django.test import Client

from lifecycle.models import Heartbeat
from lifecycle.reminders.heartbeats import patience
from lifecycle.reminders.ticks import TICKS
from lifecycle.web import health
from tests.factories import NOON

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("noon")]
MINUTE = timedelta(minutes=1)
SECOND = timedelta(seconds=1)


@pytest.fixture
def up(monkeypatch: pytest.MonkeyPatch) -> Any:
    """Say how long the process has been serving."""
    return lambda length: monkeypatch.setattr(health, "up_for", lambda: length)


def beat(**ages: timedelta) -> None:
    for name in TICKS:
        Heartbeat.objects.update_or_create(
            name=name, defaults={"at": NOON - ages.get(name, timedelta(0))}
        )


def ready() -> tuple[int, str]:
    answer = Client().get("/readyz")
    return answer.status_code, answer.json().get("ticks", "")


def test_patience_is_five_intervals_and_ten_minutes_at_least() -> None:
    assert patience(MINUTE) == 10 * MINUTE
    assert patience(2 * MINUTE) == 10 * MINUTE
    assert patience(5 * MINUTE) == 25 * MINUTE


@pytest.mark.parametrize(
    ("name", "age", "status"),
    [
        ("dispatch", 10 * MINUTE, 200),
        ("dispatch", 10 * MINUTE + SECOND, 503),
        ("frost", 10 * MINUTE + SECOND, 503),
        ("plan", 25 * MINUTE, 200),
        ("plan", 25 * MINUTE + SECOND, 503),
        ("remind", 25 * MINUTE + SECOND, 503),
        ("forecast", 25 * MINUTE + SECOND, 503),
    ],
)
def test_a_late_tick_is_not_ready(up: Any, name: str, age: timedelta, status: int) -> None:
    up(timedelta(days=1))
    beat(**{name: age})
    assert ready() == (status, "ok" if status == 200 else f"late: {name}")


def test_a_site_that_has_just_started_is_ready(up: Any) -> None:
    beat(dispatch=timedelta(days=3))
    up(10 * MINUTE)
    assert ready()[0] == 200
    up(10 * MINUTE + SECOND)
    assert ready() == (503, "late: dispatch")


@pytest.mark.parametrize(("needed", "status"), [(True, 503), (False, 200)])
def test_ticks_that_never_ran_count_where_they_are_needed(
    up: Any, settings: Any, needed: bool, status: int
) -> None:
    settings.READY_NEEDS_TICKS = needed
    up(timedelta(days=1))
    assert ready()[0] == status
    up(MINUTE)
    assert ready()[0] == 200


def test_the_ages_are_listed() -> None:
    beat()
    beats = Client().get("/readyz").json()["heartbeats"]
    assert set(beats) == set(TICKS)
    assert beats["plan"] == NOON.isoformat()


def test_without_a_database_it_is_not_ready(monkeypatch: pytest.MonkeyPatch) -> None:
    def gone(*_: object) -> None:
        raise DatabaseError("no connection")

    monkeypatch.setattr(health, "MigrationExecutor", gone)
    answer = Client().get("/readyz")
    assert (answer.status_code, answer.json()) == (503, {"database": "no answer"})
    assert Client().get("/healthz").status_code == 200


def test_time_passes_while_it_serves() -> None:
    assert timedelta(0) <= health.up_for() < timedelta(days=1)

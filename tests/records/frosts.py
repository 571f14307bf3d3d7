"""A frost night of the tests' garden, written as the watch would write it."""

from datetime import UTC, date, datetime, timedelta
from typing import Any

from lifecycle.models import FrostBed, FrostNight, NightForecast, Place
from tests.conftest import World

NIGHT = date(2026, 10, 14)
SUNSET = datetime(2026, 10, 14, 17, 30, tzinfo=UTC)


def a_forecast(world: World, night: date = NIGHT, low_c: float = -1.0, **more: Any):
    """The low of a night as it was issued at nine that morning."""
    issued = datetime(2026, 10, 14, 9, tzinfo=UTC)
    given = {"issued_at": issued, "received_at": issued, "source": "typed", **more}
    return NightForecast.objects.create(
        garden=world.garden, site=more.pop("site", world.site), night=night, low_c=low_c, **given
    )


def a_night(world: World, night: date = NIGHT, **more: Any) -> FrostNight:
    """A called night with its forecast."""
    given: dict[str, Any] = {
        "garden": world.garden,
        "site": world.site,
        "night": night,
        "state": FrostNight.State.CALLED,
        "expected_c": -1.0,
        "sd_c": 1.5,
        "kill_chance": 0.7,
        "harm_chance": 0.9,
        "kill_ratio": 0.05,
        "harm_ratio": 0.2,
        "calm": True,
        "sunset_at": datetime.combine(night, SUNSET.timetz()),
        "low_at": datetime.combine(night + timedelta(1), datetime.min.time(), UTC)
        + timedelta(hours=5),
        "people_needed": 1,
        "judged_at": datetime(2026, 10, 14, 9, tzinfo=UTC),
        "called_at": datetime(2026, 10, 14, 9, tzinfo=UTC),
        **more,
    }
    if "forecast" not in given:
        given["forecast"] = a_forecast(world, night)
    return FrostNight.objects.create(**given)


def a_bed(night: FrostNight, place: Place, **more: Any) -> FrostBed:
    """A place of the night: cover one plant with a light cover."""
    given: dict[str, Any] = {
        "garden": night.garden,
        "frost_night": night,
        "place": place,
        "action": FrostBed.Action.COVER,
        "plants": 1,
        "protection": "cover_light",
        "pieces": 1,
        **more,
    }
    return FrostBed.objects.create(**given)

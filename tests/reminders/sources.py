"""Sites and where their forecasts come from, for the answers that are kept beside this file."""

from datetime import UTC, datetime, timedelta
from typing import Any

from lifecycle.models import ForecastSource, Site
from tests.conftest import World
from tests.factories import NOON, SiteFactory

Kind = ForecastSource.Kind
MINUTE = timedelta(minutes=1)
# The kept answers tell of October 2026 in the north and July 2026 in the south.
OCTOBER = datetime(2026, 10, 14, 19, 0, tzinfo=UTC)
JULY = datetime(2026, 7, 14, 3, 0, tzinfo=UTC)


def north(world: World, **more: Any) -> ForecastSource:
    site = SiteFactory(
        garden=world.garden, latitude=42.3, longitude=-93.1, time_zone="America/Chicago", **more
    )
    return a_source(site, Kind.GRIDPOINT)


def south(world: World, **more: Any) -> ForecastSource:
    site = SiteFactory(
        garden=world.garden, latitude=-27.3, longitude=153.0, time_zone="Australia/Brisbane", **more
    )
    return a_source(site, Kind.DAILY)


def a_source(site: Site, kind: str, **more: Any) -> ForecastSource:
    return ForecastSource.objects.create(
        garden=site.garden, site=site, kind=kind, set_at=NOON, **more
    )


def after(source: ForecastSource) -> ForecastSource:
    source.refresh_from_db()
    return source

"""The watch and the clock: the site's own date, noon on odd days, a site without a longitude."""

from datetime import UTC, date, datetime

import pytest

from lifecycle.models import FrostNight, Site
from lifecycle.reminders.nights import frost_watch
from lifecycle.reminders.nights.frost_watch import sites_with_news, watch_all, watch_site
from tests.care.frosts import Night
from tests.conftest import World
from tests.factories import NOON
from tests.reminders.test_frost_watch import HOUR, MINUTE, state, tell

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def plain(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let every forecast be right but for a spread of 1 C."""
    monkeypatch.setattr(frost_watch, "low_after", lambda low, *_: Night(low, 1.0))


@pytest.mark.parametrize(
    ("zone", "now", "night"),
    [
        ("Pacific/Auckland", datetime(2026, 7, 14, 12, 30, tzinfo=UTC), date(2026, 7, 15)),
        ("America/Los_Angeles", datetime(2026, 11, 2, 3, 0, tzinfo=UTC), date(2026, 11, 1)),
        ("Pacific/Kiritimati", datetime(2026, 7, 14, 10, 30, tzinfo=UTC), date(2026, 7, 15)),
        ("Etc/GMT+12", datetime(2026, 7, 14, 11, 30, tzinfo=UTC), date(2026, 7, 13)),
    ],
)
def test_a_night_is_the_sites_own_date(world: World, zone: str, now: datetime, night: date) -> None:
    Site.objects.filter(pk=world.site.pk).update(
        time_zone=zone, latitude=-41.0 if "Auck" in zone else 36.0
    )
    site = Site.objects.get(pk=world.site.pk)
    tell(site, -5.0, night, at=now - HOUR)
    assert sites_with_news(now) == [site]
    watch_all(now=now)
    assert FrostNight.objects.get().night == night


@pytest.mark.parametrize(
    ("night", "over"),
    [
        # Clocks go back on 1 November and forward on 14 March in Denver.
        (date(2026, 10, 31), datetime(2026, 11, 1, 19, 0, tzinfo=UTC)),
        (date(2027, 3, 13), datetime(2027, 3, 14, 18, 0, tzinfo=UTC)),
    ],
)
def test_noon_is_noon_on_the_days_the_clocks_change(world: World, night, over) -> None:
    Site.objects.filter(pk=world.site.pk).update(time_zone="America/Denver", longitude=-105.0)
    site = Site.objects.get(pk=world.site.pk)
    afternoon = datetime(night.year, night.month, night.day, 20, tzinfo=UTC)
    tell(site, -5.0, night, at=afternoon)
    watch_all(now=afternoon)
    row = FrostNight.objects.get()
    assert row.state == "called"
    assert row.sunset_at.astimezone(UTC).hour in (23, 0, 1)
    watch_all(now=over - MINUTE)
    assert state(night) == "called"
    watch_all(now=over)
    assert state(night) == "over"


def test_without_a_longitude_there_is_no_sunset(world: World) -> None:
    Site.objects.filter(pk=world.site.pk).update(longitude=None)
    site = Site.objects.get(pk=world.site.pk)
    told = datetime(2026, 10, 15, 4, tzinfo=UTC)
    tell(site, -5.0, low_at=told)
    watch_site(site, NOON)
    night = FrostNight.objects.get()
    assert (night.sunset_at, night.low_at) == (None, told)

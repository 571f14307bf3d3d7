"""The watch after midnight, under the midnight sun, and by a clock that was set back."""

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest

from lifecycle.agronomy.sun import SunTimes
from lifecycle.models import FrostNight, Message, Plant, Site, WeatherRecord
from lifecycle.records.ground.settings import choose
from lifecycle.records.nights.frost_curve import KEY, ratios_in_force
from lifecycle.records.nights.rota import join
from lifecycle.records.weather.weather import add_record
from lifecycle.reminders.nights import frost_watch
from lifecycle.reminders.nights.asking import ask_all
from lifecycle.reminders.nights.frost_watch import sites_with_news, watch_all, watch_site
from tests.care.frosts import Night
from tests.conftest import World
from tests.external.installed_records import aquacrop_csv
from tests.factories import NOON
from tests.records.frosts import NIGHT
from tests.reminders.test_frost_watch import HOUR, MINUTE, state, tell

pytestmark = pytest.mark.django_db

EVENING = datetime(2026, 10, 14, 20, tzinfo=UTC)
TWO = datetime(2026, 10, 15, 2, tzinfo=UTC)
LOW = datetime(2026, 10, 15, 5, tzinfo=UTC)


@pytest.fixture(autouse=True)
def plain(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let every forecast be right but for a spread of 1 C."""
    monkeypatch.setattr(frost_watch, "low_after", lambda low, *_: Night(low, 1.0))


@pytest.mark.parametrize(
    ("first", "then", "states"),
    [
        (-5.0, 20.0, ["called", "cancelled"]),
        (20.0, -5.0, ["quiet", "called"]),
        (-1.0, -5.0, ["called", "called"]),
    ],
)
def test_the_night_under_way_is_judged_until_its_low(world: World, first, then, states) -> None:
    tell(world.site, first, at=EVENING, low_at=LOW)
    watch_all(now=EVENING)
    seen = [state()]
    tell(world.site, then, at=TWO, low_at=LOW)
    watch_all(now=TWO)
    assert [*seen, state()] == states
    night = FrostNight.objects.get()
    assert (night.expected_c, night.judged_at) == (then, TWO)


def test_from_its_low_on_it_stands(world: World) -> None:
    tell(world.site, -5.0, at=EVENING, low_at=LOW)
    watch_all(now=EVENING)
    tell(world.site, -5.5, at=LOW - HOUR, low_at=LOW)
    watch_all(now=LOW - MINUTE)
    tell(world.site, 20.0, at=LOW - MINUTE, low_at=LOW)
    watch_all(now=LOW)
    night = FrostNight.objects.get()
    assert (night.state, night.expected_c) == ("called", -5.5)


def test_the_later_of_two_hours_told_for_the_low_counts(world: World) -> None:
    tell(world.site, 20.0, at=EVENING, low_at=LOW)
    watch_all(now=EVENING)
    tell(world.site, -5.0, at=TWO, low_at=TWO - HOUR)
    watch_all(now=TWO)
    assert state() == "called"


@pytest.mark.parametrize(("hour", "judged"), [(6, True), (7, False)])
def test_where_no_hour_of_the_low_is_known_it_is_seven(world: World, hour, judged) -> None:
    Site.objects.filter(pk=world.site.pk).update(longitude=None)
    site = Site.objects.get(pk=world.site.pk)
    now = TWO.replace(hour=hour)
    tell(site, -5.0, at=now - HOUR)
    watch_site(site, now)
    assert FrostNight.objects.exists() is judged


def test_old_data_is_said_to_be_old_in_the_night_too(world: World) -> None:
    tell(world.site, -5.0, at=EVENING - 5 * HOUR, low_at=LOW)
    watch_all(now=EVENING)
    watch_all(now=TWO)
    night = FrostNight.objects.get()
    assert (night.state, night.stale) == ("called", True)


def test_a_night_under_way_is_of_its_site_however_far_west(world: World) -> None:
    Site.objects.filter(pk=world.site.pk).update(time_zone="America/Chicago", longitude=-88.0)
    site = Site.objects.get(pk=world.site.pk)
    told = datetime(2026, 10, 15, 1, tzinfo=UTC)
    tell(site, 20.0, at=told)
    watch_all(now=told)
    # 07:00 on its clock, some minutes before sunrise, and past noon in London.
    almost = datetime(2026, 10, 15, 12, tzinfo=UTC)
    tell(site, -5.0, at=almost - MINUTE)
    Plant.objects.exclude(pk=world.plant.pk).update(phase="ended")
    assert sites_with_news(almost) == [site]
    watch_all(now=almost)
    assert state() == "called"


def test_who_allowed_it_is_woken_by_what_comes_after_midnight(world: World) -> None:
    join(world.member, world.site, first_day=NIGHT, last_day=NIGHT, wakes=True, now=NOON)
    tell(world.site, 20.0, at=EVENING, low_at=LOW)
    watch_all(now=EVENING)
    tell(world.site, -5.0, at=TWO, low_at=LOW)
    watch_all(now=TWO)
    assert ask_all(now=TWO) == 1
    message = Message.objects.filter(about="frost_update").first()
    assert (message.person, message.level) == (world.member.person, Message.Level.ACT_NOW)


def test_what_is_called_off_after_midnight_wakes_nobody(world: World) -> None:
    join(world.member, world.site, first_day=NIGHT, last_day=NIGHT, wakes=False, now=NOON)
    afternoon = NOON + 3 * HOUR
    tell(world.site, -5.0, at=afternoon, low_at=LOW)
    watch_all(now=afternoon)
    assert ask_all(now=afternoon) > 0
    tell(world.site, 20.0, at=TWO, low_at=LOW)
    watch_all(now=TWO)
    ask_all(now=TWO)
    assert [ask.state for ask in FrostNight.objects.get().asks.all()] == ["called_off"]
    assert not Message.objects.filter(about="frost_cancel").exists()


@pytest.mark.parametrize(
    ("night", "sunset"),
    [
        # In Fairbanks the sun sets after midnight from about 12 June to 1 July.
        (date(2026, 6, 21), (date(2026, 6, 22), 0)),
        (date(2026, 5, 20), (date(2026, 5, 20), 23)),
        (date(2026, 10, 14), (date(2026, 10, 14), 18)),
    ],
)
def test_a_sunset_after_midnight_is_that_of_the_evening_before(world: World, night, sunset) -> None:
    zone = "America/Anchorage"
    Site.objects.filter(pk=world.site.pk).update(time_zone=zone, latitude=64.84, longitude=-147.72)
    site = Site.objects.get(pk=world.site.pk)
    now = datetime(night.year, night.month, night.day, 20, tzinfo=UTC)
    tell(site, -5.0, night, at=now)
    watch_site(site, now)
    local = FrostNight.objects.get().sunset_at.astimezone(ZoneInfo(zone))
    assert (local.date(), local.hour) == sunset


@pytest.mark.parametrize(("later", "kept"), [(11, True), (12, False), (None, False)])
def test_only_a_sunset_before_the_next_noon_counts(world: World, monkeypatch, later, kept) -> None:
    """A sunset of the evening's own date before its noon belongs to the evening before."""

    def sun(latitude, longitude, day, zone):
        hour = 11 if day == NIGHT else later
        down = None if hour is None else datetime(day.year, day.month, day.day, hour, tzinfo=zone)
        return SunTimes(None, down)

    monkeypatch.setattr(frost_watch, "sunrise_sunset", sun)
    tell(world.site, -5.0)
    watch_site(world.site, NOON)
    found = FrostNight.objects.get().sunset_at
    assert (found == datetime(2026, 10, 15, 11, tzinfo=UTC)) if kept else found is None


def test_a_typed_number_calls_nothing_off_while_the_service_is_colder(world: World) -> None:
    tell(world.site, -5.0)
    watch_site(world.site, NOON)
    tell(world.site, 28.0, at=NOON + HOUR, source="typed")
    watch_site(world.site, NOON + HOUR)
    assert state() == "called"


def test_a_members_word_of_a_frost_hollow_outlasts_the_next_fetch(world: World) -> None:
    typed = tell(world.site, -3.0, source="typed")
    tell(world.site, 9.0, at=NOON + HOUR)
    watch_site(world.site, NOON + HOUR)
    night = FrostNight.objects.get()
    assert (night.state, night.forecast) == ("called", typed)


def test_a_clock_set_back_does_not_hold_the_judging_up(world: World) -> None:
    tell(world.site, 20.0, at=NOON - HOUR)
    watch_all(now=NOON)
    assert sites_with_news(NOON) == []
    back = NOON - HOUR + MINUTE
    assert sites_with_news(back) == [world.site]
    watch_all(now=back)
    assert sites_with_news(back) == []
    tell(world.site, -5.0, at=back + MINUTE)
    watch_all(now=back + MINUTE)
    assert state() == "called"


def with_a_record(world: World, choice: str) -> None:
    """Give the site a record without its curve, and a choice of the rule."""
    add_record(
        world.owner, world.site, name="R", data=aquacrop_csv("brussels"), units="C", now=NOON
    )
    row = WeatherRecord.objects.get()
    row.climate.pop(KEY, None)
    row.save()
    choose(world.owner, world.site, "frost_kill", choice, now=NOON)


def test_a_rule_that_follows_from_the_record_waits_for_its_curve(world: World) -> None:
    with_a_record(world, "miss_10")
    tell(world.site, -5.0)
    watch_site(world.site, NOON)
    ratio = ratios_in_force(world.site).kill
    assert ratio != 0.05
    assert FrostNight.objects.get().kill_ratio == ratio


@pytest.mark.parametrize("choice", ["miss_10", "20"])
def test_a_night_is_judged_even_where_the_curve_cannot_be_worked_out(
    world: World, monkeypatch, caplog, choice: str
) -> None:
    def broken(site: Site, now: datetime) -> None:
        raise ValueError("moon")

    monkeypatch.setattr(frost_watch, "work_out_curve", broken)
    with_a_record(world, choice)
    tell(world.site, -5.0)
    watch_site(world.site, NOON)
    assert FrostNight.objects.get().kill_ratio == 0.05
    assert "could not be worked out" in caplog.text

"""The watch over the coming nights: what it writes, when it calls, and that it never flickers."""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from lifecycle.life.kinds import Kind
from lifecycle.models import FrostBed, FrostNight, GardenCover, NightForecast, Plant, Site
from lifecycle.records.ground.settings import choose
from lifecycle.records.nights.covers import add_cover
from lifecycle.records.nights.frost import call_by_hand, mark, not_needed
from lifecycle.reminders.nights import frost_watch
from lifecycle.reminders.nights.frost_watch import sites_with_news, watch_all, watch_site
from tests.care.frosts import Night
from tests.conftest import World
from tests.factories import (
    NOON,
    MembershipFactory,
    PlaceFactory,
    SiteFactory,
    VarietyFactory,
    a_plant,
    a_sowing,
    an_entry,
)
from tests.records.frosts import NIGHT

pytestmark = pytest.mark.django_db

MINUTE, HOUR = timedelta(minutes=1), timedelta(hours=1)


@pytest.fixture(autouse=True)
def plain(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let every forecast be right but for a spread of 1 C."""
    monkeypatch.setattr(frost_watch, "low_after", lambda low, *_: Night(low, 1.0))
    monkeypatch.setattr(frost_watch, "error_for", lambda *_: None)


def tell(site: Site, low: float, night: date = NIGHT, at: datetime = NOON, **more):
    """Issue a forecast of one night."""
    given = {"issued_at": at, "received_at": at, "source": "daily", **more}
    return NightForecast.objects.create(
        garden=site.garden, site=site, night=night, low_c=low, **given
    )


def state(night: date = NIGHT) -> str:
    return FrostNight.objects.get(night=night).state


def rows() -> list[tuple]:
    night = FrostNight.objects.order_by("pk").values_list("pk", "state", "called_at", "stale")
    bed = FrostBed.objects.order_by("pk").values_list("pk", "action", "plants", "protection")
    return [*night, *bed]


def test_a_night_is_judged_and_its_places_stand_in_walking_order(world: World) -> None:
    first = PlaceFactory(site=world.site, name="By the gate", position=1)
    second = a_plant(world.member, first, name="Gate")
    add_cover(world.owner, world.site, protection="cover_medium", pieces=9, area_m2=4.0, kept_in="")
    forecast = tell(world.site, 2.0, wind_m_s=1.0)
    assert watch_site(world.site, NOON) == 1
    night = FrostNight.objects.get()
    assert (night.garden, night.night, night.state) == (world.garden, NIGHT, "called")
    assert (night.forecast, night.expected_c, night.sd_c) == (forecast, 2.0, 1.0)
    assert night.kill_chance == pytest.approx(0.0228, abs=1e-4)
    assert night.harm_chance == pytest.approx(0.588, abs=1e-3)
    assert (night.kill_ratio, night.harm_ratio) == (0.05, 0.2)
    assert (night.calm, night.stale, night.people_needed) == (True, False, 1)
    assert (night.judged_at, night.called_at) == (NOON, NOON)
    assert night.sunset_at == datetime(2026, 10, 14, 17, 14, tzinfo=UTC).replace(
        **{part: getattr(night.sunset_at, part) for part in ("minute", "second", "microsecond")}
    )
    assert night.low_at.date() == NIGHT + timedelta(1)
    beds = [(bed.place, bed.action, bed.plants, bed.protection, bed.pieces)
            for bed in FrostBed.objects.order_by("place__position")]  # fmt: skip
    assert beds == [
        (first, "cover", 1, "cover_medium", 1),
        (world.bed, "cover", 1, "cover_medium", 1),
    ]
    assert second.place == first


def test_the_same_news_changes_nothing(world: World) -> None:
    tell(world.site, -1.0)
    assert watch_all(now=NOON) == 1
    before = rows()
    assert watch_site(world.site, NOON) == 0
    assert watch_site(world.site, NOON + HOUR) == 0
    assert rows() == before
    assert FrostNight.objects.get().judged_at == NOON + HOUR


def test_a_minute_without_news_costs_two_queries(world: World) -> None:
    tell(world.site, -1.0)
    assert sites_with_news(NOON) == [world.site]
    watch_all(now=NOON)
    with CaptureQueriesContext(connection) as asked:
        assert watch_all(now=NOON + MINUTE) == 0
    assert len(asked) == 2
    assert sites_with_news(NOON + 9 * MINUTE) == []
    assert sites_with_news(NOON + 10 * MINUTE) == [world.site]
    # A new forecast is news at once, but not before it is there.
    tell(world.site, 9.0, at=NOON + 2 * MINUTE)
    assert sites_with_news(NOON + MINUTE) == []
    assert sites_with_news(NOON + 2 * MINUTE) == [world.site]


def test_without_a_forecast_or_anything_out_there_is_no_night(world: World) -> None:
    assert sites_with_news(NOON) == []
    assert watch_site(world.site, NOON) == 0
    tell(world.site, -5.0)
    Plant.objects.update(phase="ended")
    assert sites_with_news(NOON) == []
    assert watch_site(world.site, NOON) == 0
    assert not FrostNight.objects.exists()


@pytest.mark.parametrize(
    ("species", "count"), [("annuum", 1), ("bean", 1), ("garlic", 0), ("lettuce", 0)]
)
def test_only_what_frost_hurts_makes_a_night(world: World, species: str, count: int) -> None:
    Plant.objects.update(phase="ended")
    a_plant(
        world.member,
        world.bed,
        variety=VarietyFactory(garden=world.garden, species=species),
        name="It",
    )
    tell(world.site, -5.0)
    watch_site(world.site, NOON)
    assert FrostNight.objects.count() == count


def test_what_stands_under_a_roof_is_safe_but_for_what_is_being_hardened(world: World) -> None:
    Plant.objects.update(phase="ended")
    for place in (world.bench, world.quarters):
        a_plant(world.member, place, phase="resting", name=place.name)
    tell(world.site, -5.0)
    assert watch_site(world.site, NOON) == 0
    young = a_plant(world.member, world.bench, phase="seedling", name="Young")
    assert watch_site(world.site, NOON) == 0
    an_entry(world.member, young, Kind.HARDENING)
    watch_site(world.site, NOON)
    [bed] = FrostBed.objects.all()
    assert (bed.place, bed.action, bed.plants) == (world.bench, "bring_in", 1)


def test_a_row_of_seedlings_in_a_bed_counts_once_it_is_up(world: World) -> None:
    Plant.objects.update(phase="ended")
    bean = VarietyFactory(garden=world.garden, species="bean")
    row = a_sowing(world.member, world.bed, variety=bean)
    tell(world.site, -5.0)
    assert watch_site(world.site, NOON) == 0
    an_entry(world.member, row, Kind.EMERGED, quantity=30)
    watch_site(world.site, NOON)
    assert FrostBed.objects.get().plants == 1


def test_tonight_is_called_and_later_nights_are_possible(world: World) -> None:
    for ahead in range(6):
        tell(world.site, -5.0, NIGHT + timedelta(ahead))
    assert watch_site(world.site, NOON) == 4
    found = FrostNight.objects.order_by("night").values_list("night", "state", "called_at")
    assert list(found) == [
        (NIGHT, "called", NOON),
        *((NIGHT + timedelta(ahead), "possible", None) for ahead in (1, 2, 3)),
    ]


def test_the_error_is_that_of_the_lead(world: World, monkeypatch) -> None:
    asked = []
    monkeypatch.setattr(frost_watch, "error_for", lambda site, lead, calm, now: asked.append(lead))
    tell(world.site, -5.0)
    tell(world.site, -5.0, NIGHT + timedelta(2))
    watch_site(world.site, NOON)
    assert asked == [0, 2]


def test_a_night_is_called_by_the_days_first_forecast(world: World) -> None:
    evening = datetime(2026, 10, 13, 23, tzinfo=UTC)
    tell(world.site, -5.0, at=evening)
    midnight = datetime(2026, 10, 14, 0, 30, tzinfo=UTC)
    watch_site(world.site, midnight)
    assert state() == "possible"
    tell(world.site, -5.0, at=midnight + HOUR)
    watch_site(world.site, midnight + HOUR)
    assert state() == "called"


def test_or_in_the_morning_without_one(world: World) -> None:
    tell(world.site, -5.0, at=datetime(2026, 10, 13, 23, tzinfo=UTC), source="typed")
    watch_site(world.site, datetime(2026, 10, 14, 6, 59, tzinfo=UTC))
    assert state() == "possible"
    watch_site(world.site, datetime(2026, 10, 14, 7, 0, tzinfo=UTC))
    assert state() == "called"


@pytest.mark.parametrize(
    ("lows", "states"),
    [
        # At 2.5 C harm has a chance of 0.39 against 0.2; at 3.2 C, 0.164; at 3.6 C, 0.084.
        ((2.5, 3.2, 3.6), ("called", "called", "cancelled")),
        ((2.5, 3.6, 3.2, 2.5), ("called", "cancelled", "cancelled", "called")),
        ((3.2, 3.6), ("quiet", "quiet")),
        ((9.0, 2.5), ("quiet", "called")),
    ],
)
def test_a_call_is_taken_back_under_half_the_ratio(world: World, lows, states) -> None:
    for number, (low, wanted) in enumerate(zip(lows, states, strict=True)):
        moment = NOON + number * HOUR
        tell(world.site, low, at=moment)
        watch_site(world.site, moment)
        assert state() == wanted, low
    night = FrostNight.objects.get()
    assert (night.called_off_at is not None) is (states[-1] == "cancelled")
    assert (night.called_at is not None) is ("called" in states)


def test_old_data_neither_calls_nor_calls_off(world: World) -> None:
    tell(world.site, -5.0, at=NOON - 7 * HOUR)
    watch_site(world.site, NOON)
    night = FrostNight.objects.get()
    assert (night.state, night.stale) == ("possible", True)
    tell(world.site, -5.0)
    watch_site(world.site, NOON)
    assert state() == "called"
    tell(world.site, 20.0, at=NOON + MINUTE)
    watch_site(world.site, NOON + 8 * HOUR)
    night = FrostNight.objects.get()
    assert (night.state, night.stale) == ("called", True)


def test_what_people_decided_stands(world: World) -> None:
    tell(world.site, -5.0)
    watch_site(world.site, NOON)
    not_needed(world.coordinator, FrostNight.objects.get(), "We are in a tunnel", now=NOON)
    tell(world.site, -9.0, at=NOON + MINUTE)
    watch_site(world.site, NOON + HOUR)
    assert state() == "not_needed"
    call_by_hand(world.coordinator, FrostNight.objects.get(), now=NOON + HOUR)
    tell(world.site, 20.0, at=NOON + HOUR)
    watch_site(world.site, NOON + HOUR)
    assert state() == "called"


def test_a_night_is_over_on_the_next_days_noon(world: World) -> None:
    tell(world.site, -5.0)
    watch_all(now=NOON)
    almost = NOON + timedelta(days=1) - MINUTE
    watch_all(now=almost)
    assert state() == "called"
    assert watch_all(now=NOON + timedelta(days=1)) == 1
    assert state() == "over"
    assert sites_with_news(NOON + timedelta(days=1)) == []
    assert watch_all(now=NOON + timedelta(days=30)) == 0


def test_a_place_whose_plants_are_gone_goes_unless_it_was_marked(world: World) -> None:
    other = PlaceFactory(site=world.site, name="Other")
    moved = a_plant(world.member, other, name="Moved")
    tell(world.site, -5.0)
    watch_site(world.site, NOON)
    mark(world.member, FrostBed.objects.get(place=world.bed), "done", now=NOON)
    Plant.objects.update(phase="ended")
    tell(world.site, -5.0, at=NOON + MINUTE)
    assert watch_site(world.site, NOON + MINUTE) == 1
    assert [bed.place for bed in FrostBed.objects.all()] == [world.bed]
    # Nothing is left to fear for: the call is off.
    assert state() == "cancelled"
    assert moved.place == other


def test_covers_and_settings_of_the_site_are_used(world: World) -> None:
    tell(world.site, 1.8, wind_m_s=1.0)
    GardenCover.objects.all().delete()
    choose(world.owner, world.site, "frost_harm", "2", now=NOON)
    choose(world.owner, world.site, "frost_kill", "5", now=NOON)
    watch_site(world.site, NOON)
    night = FrostNight.objects.get()
    assert (night.kill_ratio, night.harm_ratio) == (0.2, 0.5)
    assert FrostBed.objects.get().action == "cover"
    add_cover(world.owner, world.site, protection="water_wall", pieces=1, area_m2=1, kept_in="")
    watch_site(world.site, NOON + MINUTE)
    bed = FrostBed.objects.get()
    assert (bed.action, bed.protection) == ("cover", "water_wall")


@pytest.mark.parametrize(
    ("wind", "calm", "action"),
    [(1.9, True, "cover"), (9.0, False, "not_enough"), (None, None, "cover")],
)
def test_wind(world: World, wind, calm, action) -> None:
    tell(world.site, 2.5, wind_m_s=wind, cloud_percent=100)
    watch_site(world.site, NOON)
    assert FrostNight.objects.get().calm is calm
    assert FrostBed.objects.get().action == action


def test_two_gardens_never_mix(world: World) -> None:
    other = MembershipFactory(role="owner")
    site = SiteFactory(garden=other.garden)
    place = PlaceFactory(site=site)
    a_plant(other, place, name="Theirs")
    tell(world.site, -5.0)
    tell(site, 20.0)
    watch_all(now=NOON)
    assert set(FrostNight.objects.values_list("site", "state")) == {
        (world.site.pk, "called"),
        (site.pk, "quiet"),
    }
    for bed in FrostBed.objects.all():
        assert bed.garden_id == bed.place.garden_id == bed.frost_night.garden_id
        assert bed.place.site_id == bed.frost_night.site_id


def test_a_site_that_cannot_be_judged_does_not_silence_the_others(
    world: World, monkeypatch, caplog
) -> None:
    other = MembershipFactory(role="owner")
    site = SiteFactory(garden=other.garden)
    a_plant(other, PlaceFactory(site=site), name="Theirs")
    for each in (world.site, site):
        tell(each, -5.0)
    judge = frost_watch.judge

    def broken(spots, *rest, **more):
        if any(spot.key == world.bed.pk for spot in spots):
            raise ValueError("moon")
        return judge(spots, *rest, **more)

    monkeypatch.setattr(frost_watch, "judge", broken)
    assert watch_all(now=NOON) == 1
    assert FrostNight.objects.get().site == site
    assert "could not be judged" in caplog.text


def test_as_many_queries_for_many_plants_as_for_few(world: World) -> None:
    tell(world.site, -5.0)
    with CaptureQueriesContext(connection) as few:
        watch_site(world.site, NOON)
    FrostBed.objects.all().delete()
    FrostNight.objects.all().delete()
    for number in range(30):
        a_plant(world.member, world.bed, name=f"More {number}")
    with CaptureQueriesContext(connection) as many:
        watch_site(world.site, NOON)
    assert len(many) == len(few)

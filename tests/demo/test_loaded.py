"""The demonstration, loaded in autumn and in spring, shows all there is to show."""

from collections import Counter
from datetime import UTC, datetime

import pytest
from django.db import transaction

from lifecycle.demo.loading import load
from lifecycle.handbook import CROPS
from lifecycle.life.kinds import Kind
from lifecycle.life.phases import Phase, Route
from lifecycle.models import (
    AirReading,
    BedYear,
    DayReading,
    Entry,
    FrostNight,
    Garden,
    GardenCover,
    GardenMaterial,
    GerminationTest,
    Membership,
    Message,
    NightForecast,
    Person,
    Place,
    Plant,
    SeedLot,
    SensorAddress,
    Site,
    SiteSetting,
    Sowing,
    Task,
    Variety,
)
from lifecycle.records.crops.proof import mismatches
from lifecycle.records.ground.site_events import notices_for
from lifecycle.records.nights.frost_curve import curve_of
from lifecycle.records.nights.rota import on_call
from lifecycle.reminders.nights.frost_record import lows_of, tally_of
from lifecycle.reminders.weather.night_forecasts import error_for, nights_in_use
from lifecycle.reminders.work.planning import climate_of

pytestmark = pytest.mark.django_db

MOMENTS = [datetime(2026, 11, 25, 9, tzinfo=UTC), datetime(2027, 4, 3, 15, tzinfo=UTC)]


@pytest.fixture(scope="module", params=MOMENTS, ids=lambda moment: f"{moment:%B}")
def loaded(request, django_db_setup, django_db_blocker):
    """Load once for all the tests of a moment, which only read."""
    with django_db_blocker.unblock(), transaction.atomic():
        load(now=request.param)
        yield request.param
        transaction.set_rollback(True)


def test_it_shows_every_phase_and_route(loaded):
    assert set(Plant.objects.values_list("phase", flat=True)) == set(Phase) - {
        Phase.PLANNED,
        Phase.SOWN,
    }
    assert {Phase.PLANNED, Phase.SOWN, Phase.SEEDLING} <= set(
        Sowing.objects.values_list("phase", flat=True)
    )
    decided = set(
        Entry.objects.filter(kind__in=["reviewed", "winter_quarters"]).values_list(
            "choice", flat=True
        )
    )
    assert {Route.IN_GROUND, Route.RESTING, Route.GROWING_ON, Route.LET_GO} <= decided


def test_it_is_a_federation_over_four_growing_years(loaded):
    assert Garden.objects.count() == 3
    assert all(Garden.objects.values_list("invented", flat=True))
    assert Site.objects.count() == 4
    assert Person.objects.count() == 15
    assert 120 <= Plant.objects.count() <= 180
    years = {day.year for day in Plant.objects.values_list("began_on", flat=True)}
    assert len(years) >= 4
    several = Membership.objects.filter(person__email="coordinator@demo.example").count()
    assert several == 3


def test_something_falls_due_today_and_is_announced(loaded):
    for site in Site.objects.all():
        today = site.local_day(loaded)
        assert Task.objects.filter(site=site, earliest=today, state="open").exists()
    assert Message.objects.filter(channel="inbox").exists()


def test_columns_equal_entries(loaded):
    assert list(mismatches()) == []


def test_its_climates_reach_from_zone_5b_to_10b(loaded):
    zones = [climate_of(site).summary.zone.half_zone for site in Site.objects.order_by("pk")]
    assert zones == ["5b", "7a", "9a", "10b"]


def test_nobody_is_far_behind_with_the_work(loaded):
    behind = Counter()
    for site in Site.objects.all():
        late = Task.objects.filter(site=site, state="open", latest__lt=site.local_day(loaded))
        behind.update((task.plant or task.sowing).holder_id for task in late)
    assert behind
    assert max(behind.values()) <= 10
    assert behind.total() <= 30


def test_every_crop_of_the_beds_has_lived_there(loaded):
    grown = set(Plant.objects.values_list("variety__species", flat=True))
    assert {"tomato_determinate", "tomato_indeterminate", "tomato_cherry", "eggplant"} <= grown
    rows = Sowing.objects.filter(variety__species__in=["garlic", "lettuce", "pea", "bean"])
    assert {CROPS[each.variety.species].group for each in rows} == {"partner"}
    assert set(rows.values_list("phase", flat=True)) >= {Phase.ENDED}
    lives = Entry.objects.filter(plant__variety__species="tomato_indeterminate")
    done = set(lives.values_list("kind", flat=True))
    assert {Kind.STAKED, Kind.SIDE_SHOOTS, Kind.TIED, Kind.LOWERED, Kind.PICKED} <= done


def test_beds_say_what_they_are_made_of_and_what_stood_there(loaded):
    beds = Place.objects.filter(kind="bed")
    assert all(bed.area_m2 and bed.depth_cm and bed.soil for bed in beds)
    assert {15} == set(beds.filter(wire=True).values_list("depth_cm", flat=True))
    assert set(beds.values_list("mulched", flat=True)) == {True, False}
    assert BedYear.objects.filter(family="fabaceae").exists()


def test_a_garden_keeps_what_is_its_own(loaded):
    [bag] = GardenMaterial.objects.all()
    assert Entry.objects.filter(kind=Kind.FED, material=bag.key).exists()
    [setting] = SiteSetting.objects.all()
    assert climate_of(setting.site).dates.policy.of(setting.key) == setting.value
    [own] = Variety.objects.exclude(overrides={})
    assert own.overrides == {"maturity": 82.0}
    assert DayReading.objects.filter(rain_mm__gt=0, tmin_c__isnull=False).exists()


def test_seed_is_of_several_ages_saved_and_once_tested(loaded):
    assert len(set(SeedLot.objects.values_list("packed_year", flat=True))) >= 4
    [test] = GerminationTest.objects.all()
    assert (test.sown, test.sprouted) == (20, 11)
    assert Entry.objects.filter(kind=Kind.SEED_TESTED, sowing__lot=test.lot).exists()
    saved = Counter(Entry.objects.filter(kind=Kind.SEED_SAVED).values_list("plant", flat=True))
    kept = SeedLot.objects.filter(saved_from__isnull=False)
    assert Counter(kept.values_list("saved_from", flat=True)) == saved


def test_hail_was_looked_at_and_some_labels_are_in_doubt(loaded):
    [hit] = [site for site in Site.objects.all() if notices_for(site, site.local_day(loaded))]
    assert Entry.objects.filter(kind=Kind.LOOKED_OVER, plant__site=hit).exists()
    doubts = Entry.objects.filter(kind=Kind.IN_DOUBT)
    assert sorted(doubts.values_list("choice", flat=True)) == ["faded", "swapped", "swapped"]
    assert Plant.objects.filter(in_doubt=True).count() == 3


def test_one_site_has_a_frost_night_called_for_tonight(loaded):
    [night] = FrostNight.objects.filter(state="called")
    assert night.night == night.site.local_day(loaded)
    assert night.beds.exclude(action="leave").exists()
    assert night.people_needed >= 1
    assert curve_of(night.site).points


def test_its_record_shows_calls_that_were_right_and_calls_that_were_not(loaded):
    past = list(FrostNight.objects.filter(state="over"))
    tally = tally_of(past, lows_of(past))
    assert tally.called_killing >= 1
    assert tally.called_mild >= 1
    assert tally.quiet >= 1


def test_every_site_has_covers_and_people_on_call(loaded):
    for site in Site.objects.all():
        assert GardenCover.objects.filter(site=site).exists()
        turns = on_call(site, site.local_day(loaded))
        assert turns
        assert all(turn.person.phone.startswith("555 01") for turn in turns)


def test_every_site_has_its_coming_nights_told_and_all_but_one_their_errors_learned(loaded):
    learned = []
    for site in Site.objects.order_by("pk"):
        nights = nights_in_use(site, loaded)
        assert nights is not None
        assert nights.told_by == ""
        learned.append([error_for(site, lead, None, loaded).pairs >= 30 for lead in range(4)])
    assert learned == [[True] * 4] * 3 + [[False] * 4]
    assert not NightForecast.objects.exclude(source="typed").exists()


def test_one_site_hears_its_own_thermometer(loaded):
    [address] = SensorAddress.objects.all()
    assert address.heard_at == loaded
    assert AirReading.objects.filter(site=address.site).count() == 21

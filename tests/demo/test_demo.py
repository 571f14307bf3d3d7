"""The demonstration loads into an empty database only, and shows all there is to show."""

from datetime import UTC, datetime

import pytest
from django.core.management import CommandError, call_command

from lifecycle.agronomy.record_reader import read_daily_record
from lifecycle.agronomy.site_climate import summarise
from lifecycle.demo.loading import load
from lifecycle.demo.scenario import GARDENS
from lifecycle.demo.weather import daily_csv
from lifecycle.life.phases import Phase, Route
from lifecycle.models import Entry, Garden, Membership, Message, Person, Plant, Site, Sowing, Task
from lifecycle.records.proof import mismatches
from lifecycle.reminders.planning import climate_of

pytestmark = pytest.mark.django_db

MOMENTS = [datetime(2026, 11, 25, 9, tzinfo=UTC), datetime(2027, 4, 3, 15, tzinfo=UTC)]


@pytest.fixture(params=MOMENTS, ids=lambda moment: f"{moment:%B}")
def loaded(request):
    load(now=request.param)
    return request.param


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
    assert 100 <= Plant.objects.count() <= 160
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


def test_the_invented_weather_is_the_same_for_the_same_seed():
    scene = GARDENS[0].sites[0]
    data = daily_csv(scene.climate, 2025)
    assert data == daily_csv(scene.climate, 2025)
    summary = summarise(read_daily_record(data), latitude=scene.latitude)
    assert summary.record.missing > 0
    assert summary.record.first.year == 1996


def test_it_refuses_to_load_over_anything():
    person = Person.objects.create_user("real@garden.example", "a-real-password", name="Real")
    with pytest.raises(CommandError, match="only into an empty one"):
        call_command("load_demo")
    call_command("load_demo", if_empty=True)
    assert list(Person.objects.all()) == [person]
    assert not Garden.objects.exists()

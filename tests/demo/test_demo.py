"""The demonstration goes into an empty database only, and its weather is the same every time."""

from datetime import date

import pytest
from django.core.management import CommandError, call_command

from lifecycle.agronomy.record_reader import read_daily_record
from lifecycle.agronomy.site_climate import summarise
from lifecycle.demo.scenario import GARDENS
from lifecycle.demo.weather import daily_csv, usual_day
from lifecycle.models import Garden, Person


def test_the_invented_weather_is_the_same_for_the_same_seed():
    scene = GARDENS[0].sites[0]
    data = daily_csv(scene.climate, 2025)
    assert data == daily_csv(scene.climate, 2025)
    summary = summarise(read_daily_record(data), latitude=scene.latitude)
    assert summary.record.missing > 0
    assert summary.record.first.year == 1996


@pytest.mark.parametrize(("garden", "coldest"), [(0, date(2026, 1, 20)), (2, date(2026, 7, 21))])
def test_a_usual_day_is_coldest_in_the_middle_of_its_own_winter(garden, coldest):
    climate = GARDENS[garden].sites[0].climate
    low, high = usual_day(climate, coldest)
    assert low == pytest.approx(climate.winter_low, abs=0.01)
    assert high - low == pytest.approx(climate.day_range)


@pytest.mark.django_db
def test_it_refuses_to_load_over_anything():
    person = Person.objects.create_user("real@garden.example", "a-real-password", name="Real")
    with pytest.raises(CommandError, match="only into an empty one"):
        call_command("load_demo")
    call_command("load_demo", if_empty=True)
    assert list(Person.objects.all()) == [person]
    assert not Garden.objects.exists()

"""A garden's own values for a variety: within bounds, beside the published ones, and planned by."""

import math

import pytest
from django.core.exceptions import PermissionDenied

from lifecycle.handbook import CROPS
from lifecycle.handbook.crops import BOUNDS
from lifecycle.models import Plant, Variety
from lifecycle.records.crops.varieties import offered, set_values
from lifecycle.records.refusal import Refused
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, VarietyFactory, a_plant, a_sowing

pytestmark = pytest.mark.django_db


@pytest.fixture
def variety(world: World) -> Variety:
    return world.plant.variety


def kept(variety: Variety) -> dict[str, float]:
    variety.refresh_from_db()
    return variety.overrides


def test_own_values_are_kept_and_what_grows_is_planned_again(
    world: World, variety: Variety
) -> None:
    a_sowing(world.member, world.bench, variety=variety)
    other = a_plant(world.member, world.bed, variety=VarietyFactory(garden=world.garden))
    Plant.objects.update(planned_on=NOON.date())
    assert set_values(world.coordinator, variety, {"spacing": 50, "ready_night": 12.0}) == 2
    assert kept(variety) == {"spacing": 50, "ready_night": 12.0}
    assert list(Plant.objects.filter(planned_on=None)) == [world.plant]
    assert Plant.objects.get(pk=other.pk).planned_on == NOON.date()
    # What is not named stays; the same again changes nothing.
    assert set_values(world.coordinator, variety, {"height": 80.0}) == 2
    assert set_values(world.coordinator, variety, {"height": 80.0}) == 0
    assert kept(variety) == {"height": 80.0, "ready_night": 12.0, "spacing": 50}
    assert CROPS["annuum"].adapted(variety.overrides).fact("height").si == 80.0


def test_none_returns_to_the_published_value(world: World, variety: Variety) -> None:
    set_values(world.owner, variety, {"spacing": 50.0, "height": 80.0})
    assert set_values(world.owner, variety, {"spacing": None, "maturity": None}) == 1
    assert kept(variety) == {"height": 80.0}


@pytest.mark.parametrize("name", BOUNDS)
def test_bounds_hold_on_both_sides(world: World, variety: Variety, name: str) -> None:
    low, high = BOUNDS[name].low, BOUNDS[name].high
    for value in (low, high):
        set_values(world.owner, variety, {name: value})
        assert kept(variety) == {name: value}
    for value in (low - 0.1, high + 0.1, math.nan, math.inf):
        with pytest.raises(Refused, match=r"cannot be\. Give") as problem:
            set_values(world.owner, variety, {name: value})
        assert problem.value.field == name
    assert kept(variety) == {name: high}


def test_only_values_of_the_crop(world: World, variety: Variety) -> None:
    with pytest.raises(Refused, match="not one a garden can set"):
        set_values(world.owner, variety, {"kill": 0.0})
    carrot = VarietyFactory(garden=world.garden, species="carrot")
    assert "ready_night" in offered(variety)
    assert "ready_night" not in offered(carrot)
    with pytest.raises(Refused, match="not one a garden can set"):
        set_values(world.owner, carrot, {"ready_night": 10.0})


def test_coordinators_and_owners_of_this_garden(world: World, variety: Variety) -> None:
    for actor in (world.member, world.committee):
        with pytest.raises(PermissionDenied):
            set_values(actor, variety, {"spacing": 50.0})
    with pytest.raises(Refused, match="does not belong to this garden"):
        set_values(MembershipFactory(role="owner"), variety, {"spacing": 50.0})

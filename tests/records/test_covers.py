"""The covers of a site."""

import pytest
from django.core.exceptions import PermissionDenied

from lifecycle.models import GardenCover
from lifecycle.records.nights.covers import add_cover, change_cover, remove_cover
from lifecycle.records.refusal import Refused
from tests.conftest import World
from tests.factories import MembershipFactory

pytestmark = pytest.mark.django_db

GIVEN = {"protection": "cover_light", "pieces": 4, "area_m2": 6.0, "kept_in": "  Shed\x00 2 "}


def test_added_changed_and_gone(world: World) -> None:
    cover = add_cover(world.coordinator, world.site, **GIVEN)
    assert (cover.kept_in, cover.garden) == ("Shed 2", world.garden)
    change_cover(world.owner, cover, **{**GIVEN, "pieces": 9, "protection": "blanket"})
    cover.refresh_from_db()
    assert (cover.pieces, cover.protection) == (9, "blanket")
    remove_cover(world.owner, cover)
    assert not GardenCover.objects.exists()


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("protection", "mulch"),
        ("protection", "moon"),
        ("pieces", 0),
        ("pieces", 1001),
        ("area_m2", 0.009),
        ("area_m2", 1000.1),
        ("area_m2", float("nan")),
        ("kept_in", "x" * 81),
    ],
)
def test_what_cannot_be_gets_a_sentence_at_its_field(world: World, field, value) -> None:
    cover = add_cover(world.coordinator, world.site, **GIVEN)
    for verb in (
        lambda: add_cover(world.coordinator, world.site, **{**GIVEN, field: value}),
        lambda: change_cover(world.coordinator, cover, **{**GIVEN, field: value}),
    ):
        with pytest.raises(Refused) as problem:
            verb()
        assert problem.value.field == field
    cover.refresh_from_db()
    assert cover.pieces == 4


@pytest.mark.parametrize(
    "given", [{"pieces": 1}, {"pieces": 1000}, {"area_m2": 0.01}, {"area_m2": 1000.0}]
)
def test_the_bounds_themselves(world: World, given) -> None:
    assert add_cover(world.coordinator, world.site, **{**GIVEN, **given}).pk


def test_only_who_keeps_the_list_of_that_garden(world: World) -> None:
    cover = add_cover(world.coordinator, world.site, **GIVEN)
    stranger = MembershipFactory(role="owner")
    for who, wrong in ((world.member, PermissionDenied), (stranger, Refused)):
        for verb in (
            lambda who=who: add_cover(who, world.site, **GIVEN),
            lambda who=who: change_cover(who, cover, **GIVEN),
            lambda who=who: remove_cover(who, cover),
        ):
            with pytest.raises(wrong):
                verb()
    assert GardenCover.objects.count() == 1

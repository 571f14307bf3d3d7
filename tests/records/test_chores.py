"""Chores: who makes them, and what is refused."""

from datetime import date, time, timedelta
from typing import Any

import pytest
from django.core.exceptions import PermissionDenied

from lifecycle.handbook import STARTERS
from lifecycle.models import Chore
from lifecycle.records.refusal import Refused
from lifecycle.records.work.chores import add_chore, add_starters, change_chore, end_chore
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, PlaceFactory, SiteFactory, a_plant
from tests.records.works import TODAY, a_chore, a_draft

pytestmark = pytest.mark.django_db


def test_only_who_coordinates_makes_them(world: World) -> None:
    for member in (world.member, world.committee):
        with pytest.raises(PermissionDenied):
            add_chore(member, a_draft(world), now=NOON)
        with pytest.raises(PermissionDenied):
            add_starters(member, world.site, ["tools"], now=NOON)
    stranger = MembershipFactory(role="owner")
    with pytest.raises(Refused, match="does not belong to this garden"):
        add_chore(stranger, a_draft(world), now=NOON)
    with pytest.raises(Refused, match="does not belong to this garden"):
        add_starters(stranger, world.site, ["tools"], now=NOON)


@pytest.mark.parametrize(
    ("field", "more"),
    [
        ("title", {"title": "x" * 61}),
        ("name", {"title": "  "}),
        ("how", {"how": "x" * 501}),
        ("how", {"how": "\x00"}),
        ("repeat", {"repeat": "sometimes"}),
        ("skill", {"skill": "magic"}),
        ("every", {"every": 0}),
        ("every", {"every": 367}),
        ("minutes", {"minutes": 0}),
        ("minutes", {"minutes": 1441}),
        ("days_open", {"days_open": -1}),
        ("days_from_anchor", {"days_from_anchor": 181}),
        ("days_from_anchor", {"repeat": "hard_freeze", "days_from_anchor": 14}),
        ("days_from_anchor", {"repeat": "last_freeze", "days_from_anchor": -7}),
        ("last_day", {"last_day": TODAY - timedelta(1)}),
        ("first_day", {"first_day": TODAY - timedelta(1)}),
        ("first_day", {"first_day": date(2036, 1, 1), "repeat": "weeks"}),
        ("first_day", {"first_day": date(2020, 1, 1), "repeat": "weeks"}),
    ],
)
def test_what_is_out_of_bounds_is_refused_at_its_field(
    world: World, field: str, more: dict[str, Any]
) -> None:
    with pytest.raises(Refused) as refusal:
        add_chore(world.coordinator, a_draft(world, **more), now=NOON)
    assert refusal.value.field == field
    assert not Chore.objects.exists()


def test_place_and_plant_are_of_the_site(world: World) -> None:
    far = PlaceFactory(site=SiteFactory(garden=world.garden))
    for more in (
        {"place": far},
        {"place": world.bed, "plant": world.plant},
        {"plant": a_plant(world.member, far)},
        {"place": PlaceFactory()},
    ):
        with pytest.raises(Refused):
            add_chore(world.coordinator, a_draft(world, **more), now=NOON)
    for more in ({"place": world.bed}, {"plant": world.plant}):
        add_chore(world.coordinator, a_draft(world, **more), now=NOON)


def test_the_same_tap_twice_makes_one(world: World) -> None:
    assert a_chore(world) == a_chore(world)
    later = add_chore(world.coordinator, a_draft(world), now=NOON + timedelta(hours=1))
    assert Chore.objects.count() == 2
    assert later != a_chore(world)


def test_changing_and_ending(world: World) -> None:
    chore = a_chore(world)
    draft = a_draft(world, title="Rake", at_time=time(18), minutes=90)
    change_chore(world.coordinator, chore, draft, now=NOON)
    chore.refresh_from_db()
    assert (chore.title, chore.at_time, chore.minutes) == ("Rake", time(18), 90)
    # A first day that is past may stay, however long ago.
    change_chore(world.coordinator, chore, draft, now=NOON + timedelta(days=900))
    end_chore(world.coordinator, chore, now=NOON)
    end_chore(world.owner, chore, now=NOON)
    chore.refresh_from_db()
    assert chore.ended_by == world.coordinator.person
    with pytest.raises(Refused, match="was ended"):
        change_chore(world.coordinator, chore, draft, now=NOON)
    stranger = MembershipFactory(role="owner")
    with pytest.raises(Chore.DoesNotExist):
        end_chore(stranger, chore, now=NOON)


def test_days_on_the_other_side_of_a_freeze_may_only_stay(world: World) -> None:
    chore = a_chore(world, repeat="hard_freeze", days_from_anchor=-14)
    Chore.objects.filter(pk=chore.pk).update(days_from_anchor=14)
    kept = a_draft(world, repeat="hard_freeze", days_from_anchor=14, minutes=90)
    assert change_chore(world.coordinator, chore, kept, now=NOON).minutes == 90
    later = a_draft(world, repeat="hard_freeze", days_from_anchor=15)
    with pytest.raises(Refused, match=r"comes before it\. Give how many days before\."):
        change_chore(world.coordinator, chore, later, now=NOON)
    right = a_draft(world, repeat="hard_freeze", days_from_anchor=-14)
    assert change_chore(world.coordinator, chore, right, now=NOON).days_from_anchor == -14
    with pytest.raises(Refused, match="comes before it"):
        change_chore(world.coordinator, chore, kept, now=NOON)


def test_each_of_the_list_once_a_site(world: World) -> None:
    made = add_starters(world.coordinator, world.site, ["tools", "compost", "tools"], now=NOON)
    assert [chore.starter for chore in made] == ["tools", "compost"]
    assert made[0].title == STARTERS["tools"].label
    assert made[0].first_day == date(2026, 11, 1)
    again = add_starters(world.owner, world.site, ["tools", "paths"], now=NOON)
    assert [chore.starter for chore in again] == ["paths"]
    end_chore(world.owner, made[0], now=NOON)
    [anew] = add_starters(world.owner, world.site, ["tools"], now=NOON)
    assert anew.pk != made[0].pk
    elsewhere = SiteFactory(garden=world.garden)
    assert len(add_starters(world.owner, elsewhere, list(STARTERS), now=NOON)) == len(STARTERS)
    for wrong in ([], ["magic"], ["tools", "magic"]):
        with pytest.raises(Refused, match="Tick at least one"):
            add_starters(world.owner, world.site, wrong, now=NOON)

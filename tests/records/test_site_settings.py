"""What a site chooses where sources disagree."""

import pytest
from django.core.exceptions import PermissionDenied

from lifecycle.care.policy import DEFAULTS, SETTINGS
from lifecycle.models import Plant, SiteSetting
from lifecycle.records.ground.settings import choose, policy_in_force
from lifecycle.records.refusal import Refused
from lifecycle.reminders.work.planning import climate_of
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, SiteFactory, a_sowing
from tests.reminders.climates import give_climate

pytestmark = pytest.mark.django_db


def test_a_site_stands_at_the_defaults_until_it_chooses(world: World) -> None:
    give_climate(world)
    assert policy_in_force(world.site) == DEFAULTS
    a_sowing(world.member, world.bench)
    Plant.objects.update(planned_on=NOON.date())
    assert choose(world.coordinator, world.site, "plant_out_night", "50", now=NOON) == 2
    assert Plant.objects.filter(planned_on=None).exists()
    dates = climate_of(world.site).dates
    assert dates is not None
    assert dates.policy.of("plant_out_night") == "50"
    row = SiteSetting.objects.get()
    assert (row.by, row.at, row.garden) == (world.coordinator.person, NOON, world.garden)
    assert policy_in_force(SiteFactory(garden=world.garden)) == DEFAULTS


def test_the_choice_in_force_changes_nothing(world: World) -> None:
    Plant.objects.update(planned_on=NOON.date())
    assert choose(world.owner, world.site, "pinch", SETTINGS["pinch"].default, now=NOON) == 0
    assert not SiteSetting.objects.exists()
    choose(world.owner, world.site, "pinch", "leave", now=NOON)
    assert choose(world.owner, world.site, "pinch", "leave", now=NOON) == 0
    assert choose(world.owner, world.site, "pinch", "six_leaves", now=NOON) == 1
    assert policy_in_force(world.site).of("pinch") == "six_leaves"
    assert SiteSetting.objects.count() == 1


@pytest.mark.parametrize(
    ("key", "value", "words", "field"),
    [
        ("pinch", "always", "is not offered. Choose one of:", "pinch"),
        ("pinch", "", "is not offered", "pinch"),
        ("moon", "full", "There is no such setting", ""),
    ],
)
def test_only_what_is_offered(world: World, key: str, value: str, words: str, field: str) -> None:
    with pytest.raises(Refused, match=words) as problem:
        choose(world.owner, world.site, key, value, now=NOON)
    assert problem.value.field == field


def test_coordinators_and_owners_choose(world: World) -> None:
    for actor in (world.member, world.committee):
        with pytest.raises(PermissionDenied):
            choose(actor, world.site, "pinch", "leave", now=NOON)
    with pytest.raises(Refused, match="does not belong to this garden"):
        choose(MembershipFactory(role="owner"), world.site, "pinch", "leave", now=NOON)


def test_a_choice_no_longer_offered_stands_at_its_default(world: World) -> None:
    for key, value in (("pinch", "twice"), ("gone", "x"), ("rotation_gap", "4")):
        SiteSetting.objects.create(
            garden=world.garden,
            site=world.site,
            key=key,
            value=value,
            by=world.owner.person,
            at=NOON,
        )
    policy = policy_in_force(world.site)
    assert (policy.of("pinch"), policy.of("rotation_gap")) == ("six_leaves", "4")

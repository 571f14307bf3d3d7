"""Bed rules are set for a site or a bed, noted for the audit, and have its plants planned again."""

import pytest
from django.core.exceptions import PermissionDenied

from lifecycle.care.bed_rules import NO_RULES, BedRules
from lifecycle.models import AuditNote, Place, Plant, Site
from lifecycle.records.ground.bed_rules import as_rules, check_rules, set_bed_rules, set_site_rules
from lifecycle.records.refusal import Refused
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, PlaceFactory, a_plant

pytestmark = pytest.mark.django_db
OCTOBER = BedRules((10, 15), perennials_in_ground=False, plots_kept=False)


def planned(world: World) -> None:
    Plant.objects.update(planned_on=NOON.date())


def test_a_site_has_no_rules_at_first(world: World) -> None:
    assert as_rules(Site.objects.get(pk=world.site.pk)) == NO_RULES
    assert as_rules(world.bed.rules) == NO_RULES


def test_rules_of_a_site_hold_in_its_beds_and_plan_them_again(world: World) -> None:
    planned(world)
    other = PlaceFactory(site=world.site, own_rules=True)
    assert set_site_rules(world.coordinator, world.site, OCTOBER, now=NOON) == 1
    assert as_rules(Place.objects.get(pk=world.bed.pk).rules) == OCTOBER
    assert as_rules(Place.objects.get(pk=other.pk).rules) == NO_RULES
    assert Plant.objects.get().planned_on is None
    note = AuditNote.objects.get()
    assert (note.act, note.by, note.garden) == (
        "rules_changed", world.coordinator.person, world.garden,
    )  # fmt: skip
    assert note.detail == {
        "site": world.site.pk, "clear_month": 10, "clear_day": 15,
        "perennials_in_ground": False, "plots_kept": False,
    }  # fmt: skip


def test_the_rules_in_force_set_again_change_nothing(world: World) -> None:
    set_site_rules(world.coordinator, world.site, OCTOBER, now=NOON)
    planned(world)
    assert set_site_rules(world.owner, world.site, OCTOBER, now=NOON) == 0
    assert Plant.objects.get().planned_on == NOON.date()
    assert AuditNote.objects.count() == 1
    assert set_site_rules(world.owner, world.site, NO_RULES, now=NOON) == 1
    assert as_rules(Site.objects.get(pk=world.site.pk)) == NO_RULES


def test_a_bed_has_its_own_and_goes_back_to_those_of_its_site(world: World) -> None:
    set_site_rules(world.coordinator, world.site, BedRules((11, 1)), now=NOON)
    far = a_plant(world.member, PlaceFactory(site=world.site))
    planned(world)
    assert set_bed_rules(world.coordinator, world.bed, OCTOBER, now=NOON) == 1
    assert as_rules(Place.objects.get(pk=world.bed.pk).rules) == OCTOBER
    assert Plant.objects.get(pk=far.pk).planned_on == NOON.date()
    assert set_bed_rules(world.coordinator, world.bed, OCTOBER, now=NOON) == 0
    # None at all is a rule of its own too.
    set_bed_rules(world.coordinator, world.bed, NO_RULES, now=NOON)
    assert as_rules(Place.objects.get(pk=world.bed.pk).rules) == NO_RULES
    set_bed_rules(world.coordinator, world.bed, None, now=NOON)
    assert as_rules(Place.objects.get(pk=world.bed.pk).rules) == BedRules((11, 1))
    assert AuditNote.objects.filter(detail__place=world.bed.pk).count() == 3


@pytest.mark.parametrize(
    ("day", "sentence"),
    [
        ((2, 29), "29 February comes once in four years. Give 28 February."),
        ((2, 30), "Give a day of the year, such as 15 October."),
        ((4, 31), "Give a day of the year, such as 15 October."),
        ((13, 1), "Give a day of the year, such as 15 October."),
        ((0, 1), "Give a day of the year, such as 15 October."),
        ((5, 0), "Give a day of the year, such as 15 October."),
    ],
)
def test_a_day_that_does_not_come_every_year_is_refused(
    world: World, day: tuple[int, int], sentence: str
) -> None:
    for verb, target in ((set_site_rules, world.site), (set_bed_rules, world.bed)):
        with pytest.raises(Refused) as refused:
            verb(world.coordinator, target, BedRules(day), now=NOON)
        assert (str(refused.value), refused.value.field) == (sentence, "clear_by")
    assert not AuditNote.objects.exists()
    assert check_rules(BedRules((2, 28))) == BedRules((2, 28))


def test_pots_and_foreign_ground_have_no_rules(world: World) -> None:
    with pytest.raises(Refused, match="is not a bed"):
        set_bed_rules(world.coordinator, world.bench, OCTOBER, now=NOON)
    stranger = MembershipFactory(role="coordinator")
    with pytest.raises(Refused, match="does not belong to this garden"):
        set_site_rules(stranger, world.site, OCTOBER, now=NOON)
    with pytest.raises(Refused, match="does not belong to this garden"):
        set_bed_rules(stranger, world.bed, OCTOBER, now=NOON)


def test_members_and_the_committee_set_no_rules(world: World) -> None:
    for who in (world.member, world.committee):
        with pytest.raises(PermissionDenied):
            set_site_rules(who, world.site, OCTOBER, now=NOON)
        with pytest.raises(PermissionDenied):
            set_bed_rules(who, world.bed, OCTOBER, now=NOON)

"""How records begin: sown, potted up, taken over, cut, split, and kept as seed."""

from datetime import date
from uuid import uuid4

import pytest
from django.core.exceptions import PermissionDenied

from lifecycle.life.kinds import Kind
from lifecycle.models import Entry, Plant, SeedLot, Sowing
from lifecycle.records.crops.beginnings import plain_name
from lifecycle.records.crops.codes import ALPHABET, LENGTH
from lifecycle.records.crops.plants import save_seed, split_pair, take_cuttings
from lifecycle.records.crops.sowings import plan_sowing, pot_up
from lifecycle.records.refusal import Refused
from tests.conftest import World
from tests.factories import (
    NOON,
    MembershipFactory,
    PlaceFactory,
    VarietyFactory,
    a_plant,
    a_sowing,
    an_entry,
)
from tests.records.handings import handed_over

pytestmark = pytest.mark.django_db
TODAY = NOON.date()


def act(**more) -> dict:
    return {"happened_on": TODAY, "uuid": uuid4(), "now": NOON, **more}


def test_potting_up_makes_singles_and_pairs_with_their_lineage(world: World) -> None:
    sowing = a_sowing(world.member, world.bench, seeds=10)
    given = act(singles=2, pairs=3, place=world.bench)
    plants = pot_up(world.member, sowing, **given)
    assert sorted(plant.count for plant in plants) == [1, 1, 2, 2, 2]
    for plant in plants:
        assert (plant.sowing, plant.variety, plant.phase) == (sowing, sowing.variety, "seedling")
        assert (plant.place, plant.holder) == (world.bench, world.member.person)
        assert len(plant.code) == LENGTH
        assert set(plant.code) <= set(ALPHABET)
    assert len({plant.name for plant in plants}) == 5
    sowing.refresh_from_db()
    assert (sowing.potted_up, sowing.phase) == (8, "seedling")
    # The same form again makes no more.
    assert pot_up(world.member, sowing, **given) == plants
    assert Plant.objects.filter(sowing=sowing).count() == 5


def test_no_more_are_potted_than_were_sown(world: World) -> None:
    sowing = a_sowing(world.member, world.bench, seeds=3)
    pot_up(world.member, sowing, **act(singles=2, pairs=0, place=world.bench))
    before = Plant.objects.count()
    with pytest.raises(Refused, match="4 plants cannot come from 3 seeds"):
        pot_up(world.member, sowing, **act(singles=0, pairs=1, place=world.bench))
    assert Plant.objects.count() == before


@pytest.mark.parametrize(("singles", "pairs"), [(0, 0), (-1, 2), (2, -1), (201, 0)])
def test_a_number_of_pots_that_cannot_be(world: World, singles: int, pairs: int) -> None:
    sowing = a_sowing(world.member, world.bench, seeds=1000)
    with pytest.raises(Refused):
        pot_up(world.member, sowing, **act(singles=singles, pairs=pairs, place=world.bench))


def test_splitting_a_pair_makes_a_second_plant(world: World) -> None:
    pair = a_plant(world.member, world.bed, count=2, name="Twins")
    given = act()
    second = split_pair(world.member, pair, **given)
    pair.refresh_from_db()
    assert (pair.count, second.count, second.parent) == (1, 1, pair)
    assert (second.phase, second.place, second.holder) == ("bearing", world.bed, pair.holder)
    assert split_pair(world.member, pair, **given) == second
    with pytest.raises(Refused, match="Only a pair can be split"):
        split_pair(world.member, pair, **act())


def test_cuttings_know_their_parent(world: World) -> None:
    cuttings = take_cuttings(world.member, world.plant, **act(number=3, place=world.bench))
    assert [(each.parent, each.phase, each.count) for each in cuttings] == [
        (world.plant, "seedling", 1)
    ] * 3
    world.plant.refresh_from_db()
    assert (world.plant.last_kind, world.plant.phase) == ("cutting_taken", "bearing")


@pytest.mark.parametrize("number", [0, -1, 51, 10_000])
def test_a_number_of_cuttings_that_cannot_be(world: World, number: int) -> None:
    with pytest.raises(Refused, match="1 to 50"):
        take_cuttings(world.member, world.plant, **act(number=number, place=world.bench))


def test_saved_seed_remembers_its_plant(world: World) -> None:
    given = act(name="  Gate   seed ", seeds=40)
    lot = save_seed(world.member, world.plant, **given)
    assert (lot.name, lot.saved_from, lot.packed_year) == ("Gate seed", world.plant, 2026)
    assert save_seed(world.member, world.plant, **given) == lot
    with pytest.raises(Refused, match="already"):
        save_seed(world.member, world.plant, **act(name="Gate seed", seeds=None))
    assert SeedLot.objects.count() == 1
    assert world.plant.entries.filter(kind=Kind.SEED_SAVED).count() == 1


def test_lineage_from_seed_to_seed(world: World) -> None:
    first = save_seed(world.member, world.plant, **act(name="Gate seed", seeds=40))
    sowing = a_sowing(world.member, world.bench, lot_name="Gate seed", variety=world.plant.variety)
    [plant] = pot_up(world.member, sowing, **act(singles=1, pairs=0, place=world.bench))
    assert plant.sowing is not None
    assert plant.sowing.lot == first
    assert plant.sowing.lot.saved_from == world.plant


@pytest.mark.parametrize("name", ["", "   ", "x" * 61, "x" * 10_000, "\x00"])
def test_names_that_cannot_be(world: World, name: str) -> None:
    with pytest.raises(Refused) as problem:
        save_seed(world.member, world.plant, **act(name=name, seeds=None))
    assert problem.value.field == "name"
    if name.strip():
        with pytest.raises(Refused):
            a_plant(world.member, world.bed, name=name)


def test_a_plant_taken_over(world: World) -> None:
    uuid = uuid4()
    plant = a_plant(world.member, world.quarters, phase="resting", count=2, uuid=uuid, name="Old")
    assert (plant.phase, plant.count, plant.place) == ("resting", 2, world.quarters)
    assert a_plant(world.member, world.quarters, phase="resting", uuid=uuid) == plant
    assert [entry.kind for entry in plant.entries.all()] == ["inherited"]


@pytest.mark.parametrize(
    ("wrong", "field"),
    [({"phase": "sown"}, "phase"), ({"phase": "ended"}, "phase"), ({"count": 3}, "count")],
)
def test_a_plant_that_cannot_be_taken_over(world: World, wrong: dict, field: str) -> None:
    with pytest.raises(Refused) as problem:
        a_plant(world.member, world.bed, **wrong)
    assert problem.value.field == field


def test_nothing_of_another_garden_begins_here(world: World) -> None:
    foreign = PlaceFactory()
    for begin in (
        lambda: a_plant(world.member, foreign),
        lambda: a_plant(world.member, world.bed, variety=VarietyFactory()),
        lambda: a_plant(world.member, world.bed, holder=world.outsider),
        lambda: a_sowing(world.member, foreign),
        lambda: a_sowing(world.member, world.bench, variety=VarietyFactory()),
        lambda: take_cuttings(world.member, world.plant, **act(number=1, place=foreign)),
        lambda: split_pair(MembershipFactory(), world.plant, **act()),
    ):
        before = Entry.objects.count()
        with pytest.raises(Refused):
            begin()
        assert Entry.objects.count() == before


def test_the_committee_begins_nothing(world: World) -> None:
    for begin in (
        lambda: a_plant(world.committee, world.bed),
        lambda: a_sowing(world.committee, world.bench),
        lambda: take_cuttings(world.committee, world.plant, **act(number=1, place=world.bench)),
        lambda: split_pair(world.committee, world.plant, **act()),
        lambda: save_seed(world.committee, world.plant, **act(name="Seed", seeds=1)),
        lambda: handed_over(world.committee, world.plant, to=world.member.person, **act()),
    ):
        with pytest.raises(PermissionDenied):
            begin()


def test_a_form_used_for_another_act_is_refused(world: World) -> None:
    used = an_entry(world.member, world.plant, Kind.WATERED).uuid
    pair = a_plant(world.member, world.bed, count=2)
    sowing = a_sowing(world.member, world.bench)
    for begin in (
        lambda: pot_up(
            world.member, sowing, **act(uuid=used, singles=1, pairs=0, place=world.bench)
        ),
        lambda: split_pair(world.member, pair, **act(uuid=used)),
        lambda: take_cuttings(world.member, pair, **act(uuid=used, number=1, place=world.bench)),
        lambda: save_seed(world.member, pair, **act(uuid=used, name="Seed", seeds=1)),
        lambda: handed_over(world.member, pair, to=world.owner.person, **act(uuid=used)),
        lambda: a_sowing(world.member, world.bench, uuid=used),
        lambda: a_plant(world.member, world.bed, uuid=sowing.entries.get().uuid),
    ):
        with pytest.raises(Refused, match="already used"):
            begin()


def test_a_planned_sowing_is_sown_later(world: World) -> None:
    planned = plan_sowing(
        world.member,
        site=world.site,
        variety=world.plant.variety,
        lot_name="",
        packed_year=None,
        holder=None,
        uuid=uuid4(),
        now=NOON,
    )
    assert (planned.phase, planned.began_on) == ("planned", TODAY)
    an_entry(world.member, planned, Kind.SOWN, happened_on=TODAY, quantity=12)
    planned.refresh_from_db()
    assert (planned.phase, planned.seeds_sown) == ("sown", 12)


@pytest.mark.parametrize("year", [1989, 2027])
def test_a_packing_year_that_cannot_be(world: World, year: int) -> None:
    with pytest.raises(Refused, match="1990 to 2026"):
        a_sowing(world.member, world.bench, lot_name="Lot", packed_year=year)
    assert not Sowing.objects.exists()


def test_handing_over_keeps_who_had_it_before(world: World) -> None:
    given = act(to=world.coordinator.person, giver=world.member.person)
    entry = handed_over(world.member, world.plant, **given)
    world.plant.refresh_from_db()
    assert world.plant.holder == world.coordinator.person
    assert handed_over(world.member, world.plant, **given) == entry
    assert world.plant.entries.get(kind=Kind.INHERITED).holder == world.member.person


def test_only_a_member_of_today_takes_over(world: World) -> None:
    gone = MembershipFactory(garden=world.garden, left_on=date(2026, 9, 1)).person
    for person in (world.outsider, gone):
        with pytest.raises(Refused, match="not a member"):
            handed_over(world.member, world.plant, **act(to=person))


def test_a_member_does_not_hand_over_what_another_holds(world: World) -> None:
    other = MembershipFactory(garden=world.garden)
    with pytest.raises(PermissionDenied):
        handed_over(other, world.plant, **act(to=other.person))
    handed_over(world.coordinator, world.plant, **act(to=other.person))


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("An\u200bna", "Anna"),
        ("\u202eannA", "annA"),
        ("\ufeffAn\u00adna\u2066\u200d", "Anna"),
        ("Anna\tBerg\r\nBcc:", "Anna Berg Bcc:"),
        ("An\x00na\x1b[0m", "An na [0m"),
        ("Anna\u3164", "Anna"),
        ("\u2028Anna\u00a0 Berg", "Anna Berg"),
        ("Añá O’Néill-Łuk 王 7", "Añá O’Néill-Łuk 王 7"),
    ],
)
def test_a_name_holds_nothing_that_nobody_sees(typed: str, kept: str) -> None:
    assert plain_name(typed, "person") == kept


@pytest.mark.parametrize("typed", ["\u200b", "\u3164\u3164", "—", "…", "()", "\u202e!", "\x07"])
def test_a_name_nobody_could_say_is_refused(typed: str) -> None:
    with pytest.raises(Refused, match="Give the person a name"):
        plain_name(typed, "person")

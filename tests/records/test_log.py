"""Logging: sent twice, back-dated, out of bounds, in another garden, without the right."""

from datetime import date, timedelta
from uuid import uuid4

import pytest
from django.core.exceptions import PermissionDenied

from lifecycle.life.kinds import Kind
from lifecycle.models import Entry
from lifecycle.records.crops.drafts import Draft
from lifecycle.records.crops.entries import log, log_for_several
from lifecycle.records.refusal import Refused
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, PlaceFactory, a_plant, a_sowing, an_entry

pytestmark = pytest.mark.django_db
TODAY = NOON.date()


def refused(world: World, draft: Draft) -> Refused:
    before = Entry.objects.count()
    with pytest.raises(Refused) as problem:
        log(world.member, world.plant, draft, now=NOON)
    assert Entry.objects.count() == before
    assert str(problem.value).endswith(".")
    return problem.value


def test_an_entry_carries_who_when_and_what(world: World) -> None:
    draft = Draft(Kind.PICKED, date(2026, 10, 12), quantity=250, note="Two red, one green")
    entry = log(world.member, world.plant, draft, now=NOON).entry
    entry.refresh_from_db()
    assert (entry.by, entry.received_at, entry.happened_on) == (
        world.member.person,
        NOON,
        date(2026, 10, 12),
    )
    assert (entry.quantity, entry.note, entry.uuid) == (250, "Two red, one green", draft.uuid)
    world.plant.refresh_from_db()
    assert (world.plant.last_kind, world.plant.last_on) == ("picked", date(2026, 10, 12))


def test_the_same_form_twice_makes_one_entry(world: World) -> None:
    draft = Draft(Kind.WATERED, TODAY, quantity=2)
    first = log(world.member, world.plant, draft, now=NOON)
    second = log(world.member, world.plant, draft, now=NOON + timedelta(hours=3))
    assert (first.created, second.created) == (True, False)
    assert first.entry == second.entry


def test_a_form_is_not_used_for_another_record_or_act(world: World) -> None:
    draft = Draft(Kind.WATERED, TODAY)
    log(world.member, world.plant, draft, now=NOON)
    other = a_plant(world.member, world.bed)
    with pytest.raises(Refused, match="already used for another entry"):
        log(world.member, other, draft, now=NOON)
    with pytest.raises(Refused, match="already used for another entry"):
        log(world.member, world.plant, Draft(Kind.NOTE, TODAY, draft.uuid), now=NOON)


def test_the_future_is_refused_by_the_sites_own_date(world: World) -> None:
    assert refused(world, Draft(Kind.WATERED, TODAY + timedelta(1))).field == "happened_on"
    world.site.time_zone = "Pacific/Auckland"
    world.site.save()
    # Noon in Greenwich is one in the morning of the next day there.
    log(world.member, world.plant, Draft(Kind.WATERED, TODAY + timedelta(1)), now=NOON)


def test_long_ago_is_refused(world: World) -> None:
    assert refused(world, Draft(Kind.WATERED, date(1949, 12, 31))).field == "happened_on"


@pytest.mark.parametrize(
    "quantity", [float("nan"), float("inf"), float("-inf"), -1.0, 50_000.1, 1e308]
)
def test_a_weight_out_of_bounds(world: World, quantity: float) -> None:
    problem = refused(world, Draft(Kind.PICKED, TODAY, quantity=quantity))
    assert problem.field == "quantity"
    assert "Give 0 to 50000 g" in str(problem)


@pytest.mark.parametrize("quantity", [0, 50_000])
def test_a_weight_on_its_bounds(world: World, quantity: float) -> None:
    entry = log(world.member, world.plant, Draft(Kind.PICKED, TODAY, quantity=quantity), now=NOON)
    assert entry.created


def test_a_count_is_whole_and_wanted(world: World) -> None:
    sowing = a_sowing(world.member, world.bench)
    for quantity, words in ((None, "give a number"), (2.5, "whole number"), (0, "out of range")):
        with pytest.raises(Refused, match=words):
            log(world.member, sowing, Draft(Kind.EMERGED, TODAY, quantity=quantity), now=NOON)


@pytest.mark.parametrize(
    ("draft", "field"),
    [
        (Draft(Kind.NOTE, TODAY, note="x" * 10_000), "note"),
        (Draft(Kind.NOTE, TODAY, note="x" * 501), "note"),
        (Draft(Kind.NOTE, TODAY, note="cut\x00short"), "note"),
        (Draft(Kind.NOTE, TODAY, quantity=3), "quantity"),
        (Draft(Kind.NOTE, TODAY, choice="died"), "choice"),
        (Draft(Kind.ENDED, TODAY), "choice"),
        (Draft(Kind.ENDED, TODAY, choice="x" * 10_000), "choice"),
        (Draft(Kind.MOVED, TODAY), "place"),
    ],
)
def test_what_a_kind_does_not_take(world: World, draft: Draft, field: str) -> None:
    assert refused(world, draft).field == field


def test_a_note_of_500_characters_is_kept_whole(world: World) -> None:
    entry = an_entry(world.member, world.plant, Kind.NOTE, note="ñ" * 500)
    entry.refresh_from_db()
    assert entry.note == "ñ" * 500


def test_a_kind_that_makes_other_records_is_not_logged_alone(world: World) -> None:
    pair = a_plant(world.member, world.bed, count=2)
    with pytest.raises(Refused, match="written together with what it makes"):
        log(world.member, pair, Draft(Kind.SPLIT, TODAY), now=NOON)
    assert refused(world, Draft(Kind.SEED_SAVED, TODAY, quantity=5))


def test_a_place_fits_what_happened(world: World) -> None:
    assert "under cover" in str(refused(world, Draft(Kind.PLANTED_OUT, TODAY, place=world.bench)))
    inside = Draft(Kind.WINTER_QUARTERS, TODAY, choice="resting", place=world.bed)
    assert "in the open" in str(refused(world, inside))
    assert refused(world, Draft(Kind.WATERED, TODAY, place=world.bed)).field == "place"


def test_nothing_of_another_garden_gets_in(world: World) -> None:
    stranger = MembershipFactory()
    elsewhere = PlaceFactory()
    problem = refused(world, Draft(Kind.MOVED, TODAY, place=elsewhere))
    assert "does not belong to this garden" in str(problem)
    assert refused(world, Draft(Kind.WATERED, TODAY, holder=stranger.person)).field == "holder"
    with pytest.raises(Refused, match="does not belong to this garden"):
        log(stranger, world.plant, Draft(Kind.WATERED, TODAY), now=NOON)


def test_the_committee_reads_and_does_not_write(world: World) -> None:
    with pytest.raises(PermissionDenied, match="committee"):
        log(world.committee, world.plant, Draft(Kind.WATERED, TODAY), now=NOON)


def test_who_has_left_does_not_write(world: World) -> None:
    world.member.left_on = TODAY
    with pytest.raises(PermissionDenied):
        log(world.member, world.plant, Draft(Kind.WATERED, TODAY), now=NOON)


def test_back_dating_refolds(world: World) -> None:
    an_entry(world.member, world.plant, Kind.WATERED, happened_on=date(2026, 10, 1))
    an_entry(world.member, world.plant, Kind.CUT_BACK, happened_on=date(2026, 9, 1))
    world.plant.refresh_from_db()
    assert (world.plant.phase, world.plant.phase_since) == ("growing", date(2026, 9, 1))
    assert (world.plant.last_kind, world.plant.last_on) == ("watered", date(2026, 10, 1))
    assert world.plant.planned_on is None


def test_back_dating_that_makes_others_impossible_names_them(world: World) -> None:
    an_entry(world.member, world.plant, Kind.PICKED, happened_on=date(2026, 9, 1))
    an_entry(world.member, world.plant, Kind.WATERED, happened_on=date(2026, 9, 20))
    draft = Draft(Kind.ENDED, date(2026, 8, 1), choice="died")
    assert str(refused(world, draft)) == (
        "This entry would make these entries impossible: “Picked” on 1 September 2026, "
        "“Watered” on 20 September 2026. Correct or strike them first."
    )


def test_at_most_five_entries_in_the_way_are_named(world: World) -> None:
    for day in range(1, 9):
        an_entry(world.member, world.plant, Kind.WATERED, happened_on=date(2026, 9, day))
    problem = refused(world, Draft(Kind.ENDED, date(2026, 8, 1), choice="died"))
    assert str(problem).count("“Watered”") == 5


def test_before_the_beginning_is_refused(world: World) -> None:
    problem = refused(world, Draft(Kind.WATERED, date(2026, 5, 19)))
    assert "stands before the record begins" in str(problem)


def test_entries_of_one_day_stand_as_they_came(world: World) -> None:
    day = date(2026, 10, 5)
    for index, kind in enumerate((Kind.CUT_BACK, Kind.PICKED)):
        log(world.member, world.plant, Draft(kind, day), now=NOON + timedelta(minutes=index))
    world.plant.refresh_from_db()
    assert (world.plant.phase, world.plant.last_kind) == ("bearing", "picked")


def test_several_are_logged_all_or_none(world: World) -> None:
    gone = a_plant(world.member, world.bed, name="Gone")
    an_entry(world.member, gone, Kind.ENDED, choice="died")
    drafts = [(record, Draft(Kind.WATERED, TODAY)) for record in (world.plant, gone)]
    before = Entry.objects.count()
    with pytest.raises(Refused, match="Gone: "):
        log_for_several(world.member, drafts, now=NOON)
    assert Entry.objects.count() == before
    made = log_for_several(world.member, drafts[:1], now=NOON)
    assert [each.created for each in made] == [True]


def test_moving_to_another_site_moves_the_record(world: World) -> None:
    far = PlaceFactory(site__garden=world.garden, name="Far bed")
    an_entry(world.member, world.plant, Kind.MOVED, place=far)
    world.plant.refresh_from_db()
    assert (world.plant.place, world.plant.site) == (far, far.site)


def test_a_form_id_is_free_for_any_first_use(world: World) -> None:
    uuid = uuid4()
    assert log(world.member, world.plant, Draft(Kind.NOTE, TODAY, uuid), now=NOON).created

"""The columns of a record are always the fold of its entries, and a tampered one is found."""

from datetime import date, timedelta
from uuid import uuid4

import pytest
from django.core.management import call_command
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from lifecycle.life.fold import allowed_kinds, why_not
from lifecycle.life.kinds import Kind
from lifecycle.models import Entry, Plant, Sowing
from lifecycle.records.crops import ledger
from lifecycle.records.crops.drafts import Draft
from lifecycle.records.crops.entries import correct, log, strike
from lifecycle.records.crops.plants import split_pair, take_cuttings
from lifecycle.records.crops.proof import mismatches
from lifecycle.records.crops.sowings import pot_up
from lifecycle.records.refusal import Refused
from lifecycle.reminders.work.planning import life_of
from tests.conftest import World
from tests.factories import NOON, VarietyFactory, a_plant, a_sowing, an_entry

pytestmark = pytest.mark.django_db
TODAY = NOON.date()


def any_draft(data: st.DataObject, world: World, plant: Plant, day: date) -> Draft:
    """Something a person might log of this plant, allowed as it stands today or not."""
    life = life_of(plant)
    rule = data.draw(st.sampled_from(allowed_kinds(life)), "kind")
    fitting = [choice for choice in rule.choices if why_not(life, rule, choice) is None]
    choice = data.draw(st.sampled_from(fitting or [""]), "choice")
    places = [world.bed, world.bench, world.quarters]
    if rule.kind is Kind.PLANTED_OUT:
        places = [world.bed]
    if rule.kind is Kind.WINTER_QUARTERS:
        places = [world.quarters]
    place = data.draw(st.sampled_from(places), "place") if rule.needs_place else None
    return Draft(rule.kind, day, choice=choice, place=place)


@given(st.data())
@settings(
    max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
def test_after_any_row_of_acts(world: World, data: st.DataObject) -> None:
    phase = data.draw(st.sampled_from(["seedling", "bearing", "resting"]), "phase")
    place = world.bed if phase == "bearing" else world.quarters
    plant = a_plant(world.member, place, phase=phase, count=2, uuid=uuid4())
    refusals: list[str] = []
    for index in range(data.draw(st.integers(1, 10), "acts")):
        now = NOON + timedelta(minutes=index)
        day = TODAY - timedelta(data.draw(st.integers(0, 100), "days ago"))
        act = data.draw(st.sampled_from(["log", "log", "log", "strike", "correct", "split", "cut"]))
        own = list(Entry.objects.standing().filter(plant=plant))
        try:
            if act == "log":
                log(world.member, plant, any_draft(data, world, plant, day), now=now)
            elif act == "strike":
                strike(world.member, data.draw(st.sampled_from(own)), "", now=now)
            elif act == "correct":
                entry = data.draw(st.sampled_from(own))
                draft = any_draft(data, world, plant, day)
                correct(world.member, entry, draft, "", now=now)
            elif act == "split":
                split_pair(world.member, plant, happened_on=day, uuid=uuid4(), now=now)
            else:
                take_cuttings(
                    world.member,
                    plant,
                    number=1,
                    place=world.bench,
                    happened_on=day,
                    uuid=uuid4(),
                    now=now,
                )
        except Refused as problem:
            refusals.append(str(problem))
        plant.refresh_from_db()
    assert list(mismatches()) == []
    assert all(sentence.endswith(".") for sentence in refusals)


@pytest.mark.parametrize(
    ("column", "value"),
    [
        ("phase", "resting"),
        ("phase_since", date(2020, 1, 1)),
        ("began_on", date(2020, 1, 1)),
        ("count", 2),
        ("route", "resting"),
        ("in_doubt", True),
        ("holder_id", None),
        ("place_id", None),
        ("last_kind", "note"),
        ("last_on", date(2020, 1, 1)),
    ],
)
def test_a_tampered_column_is_found(
    world: World, capsys: pytest.CaptureFixture[str], column: str, value: object
) -> None:
    call_command("check_records")
    Plant.objects.filter(pk=world.plant.pk).update(**{column: value})
    [found] = mismatches()
    assert (found.record, found.column, found.stored) == (
        f"plant {world.plant.code}",
        column,
        value,
    )
    with pytest.raises(SystemExit) as ended:
        call_command("check_records")
    assert ended.value.code == 1
    assert f"plant {world.plant.code}: {column} is" in capsys.readouterr().out


def test_a_tampered_variety_is_found(world: World) -> None:
    other = VarietyFactory(garden=world.garden)
    Plant.objects.filter(pk=world.plant.pk).update(variety=other)
    [found] = mismatches()
    assert (found.column, found.stored) == ("variety_id", other.pk)
    assert found.folded == world.plant.label_variety_id


@pytest.mark.parametrize("column", ["seeds_sown", "emerged", "potted_up"])
def test_a_tampered_sowing_is_found(world: World, column: str) -> None:
    sowing = a_sowing(world.member, world.bench)
    an_entry(world.member, sowing, Kind.EMERGED, quantity=20)
    pot_up(
        world.member,
        sowing,
        singles=2,
        pairs=1,
        place=world.bench,
        happened_on=TODAY,
        uuid=uuid4(),
        now=NOON,
    )
    assert list(mismatches()) == []
    Sowing.objects.filter(pk=sowing.pk).update(**{column: 7})
    assert [found.column for found in mismatches()] == [column]


def test_entries_that_cannot_follow_or_are_missing_are_found(world: World) -> None:
    # Written past the verbs, as an import gone wrong would.
    ledger.write_entries(world.plant, [Draft(Kind.WOKEN, TODAY)], by=world.member.person, now=NOON)
    empty = a_plant(world.member, world.bed)
    orphan = Plant.objects.create(
        garden=empty.garden,
        site=empty.site,
        variety=empty.variety,
        code="AAAAAA",
        name="No entries",
        phase="bearing",
        phase_since=TODAY,
        began_on=TODAY,
        last_kind="note",
        last_on=TODAY,
    )
    found = {row.record: (row.column, row.stored) for row in mismatches()}
    assert found[f"plant {orphan.code}"] == ("entries", "none")
    assert found[f"plant {world.plant.code}"][0] == "entries"
    assert "Woken" in str(found[f"plant {world.plant.code}"][1])


def test_the_proof_reads_in_batches(world: World, django_assert_num_queries) -> None:
    for _ in range(3):
        a_plant(world.member, world.bed)
    # Places, ids of sowings, ids of plants, one batch of plants, their swaps, their entries.
    with django_assert_num_queries(6):
        assert list(mismatches()) == []

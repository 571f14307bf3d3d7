"""Doubts, swaps and what takes them back, in any order: records stay true to their entries."""

from datetime import timedelta
from uuid import uuid4

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from lifecycle.life.fold import Life
from lifecycle.life.kinds import Kind
from lifecycle.models import Entry, Plant
from lifecycle.records.crops import ledger
from lifecycle.records.crops.drafts import Draft
from lifecycle.records.crops.entries import correct, log, strike
from lifecycle.records.crops.identity import doubt, settle_pair, take_back
from lifecycle.records.crops.proof import mismatches
from lifecycle.records.refusal import Refused
from lifecycle.reminders.work.planning import life_of
from tests.conftest import World
from tests.factories import NOON, a_plant

pytestmark = pytest.mark.django_db
TODAY = NOON.date()
LOGGED = [Kind.PICKED, Kind.CUT_BACK, Kind.FED, Kind.WATERED, Kind.ENDED, Kind.GONE_TO_REST]
ACTS = ["log", "log", "doubt", "settle", "settle", "take back", "strike", "correct"]


def folds(plants: list[Plant]) -> list[Life]:
    return [life_of(plant) for plant in plants]


class Acts:
    """Random acts on a few plants; a refused act changes nothing."""

    def __init__(self, world: World, plants: list[Plant], data: st.DataObject) -> None:
        self.world, self.plants, self.data = world, plants, data
        self.now = NOON

    def day(self):
        return TODAY - timedelta(self.data.draw(st.integers(0, 100), "days ago"))

    def draft(self) -> Draft:
        kind = self.data.draw(st.sampled_from(LOGGED), "kind")
        return Draft(kind, self.day(), choice="died" if kind is Kind.ENDED else "")

    def entry(self, **which: object) -> Entry:
        own = Entry.objects.standing().filter(plant__in=self.plants, **which).order_by("pk")
        if not own:
            raise Refused("There is none.")
        return self.data.draw(st.sampled_from(list(own)))

    def pair(self) -> tuple[Plant, Plant]:
        first, second = self.data.draw(st.permutations(self.plants))[:2]
        return first, second

    def settle(self) -> None:
        first, second = self.pair()
        since = self.day() if self.data.draw(st.booleans(), "swapped") else None
        before = folds(self.plants)
        settle_pair(
            self.world.member,
            first,
            second,
            how="fruit",
            since=since,
            until=None,
            happened_on=TODAY,
            note="",
            uuid=uuid4(),
            now=self.now,
        )
        if self.data.draw(st.booleans(), "restored"):
            assert list(mismatches()) == []
            entry = Entry.objects.filter(kind=Kind.SETTLED).latest("pk")
            take_back(self.world.member, entry, "", now=self.now)
            assert folds(self.plants) == before

    def do(self, act: str) -> None:
        member = self.world.member
        if act == "log":
            log(member, self.pair()[0], self.draft(), now=self.now)
        elif act == "doubt":
            first, second = self.pair()
            given = {"happened_on": self.day(), "note": "", "uuid": uuid4(), "now": self.now}
            doubt(member, first, why="swapped", other=second, **given)
        elif act == "settle":
            self.settle()
        elif act == "take back":
            take_back(member, self.entry(other__isnull=False), "", now=self.now)
        elif act == "strike":
            strike(member, self.entry(), "", now=self.now)
        elif act == "correct":
            correct(member, self.entry(), self.draft(), "", now=self.now)


@given(st.data())
@settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
def test_records_stay_true_after_any_row_of_acts(world: World, data: st.DataObject) -> None:
    plants = [
        a_plant(world.member, world.bed, phase=phase, uuid=uuid4())
        for phase in ("growing", "bearing", "bearing")
    ]
    acts = Acts(world, plants, data)
    refusals: list[str] = []
    for index in range(data.draw(st.integers(2, 14), "acts")):
        # Clocks of two machines differ: now and then one runs behind.
        acts.now = NOON + timedelta(minutes=index - data.draw(st.sampled_from([0, 0, 5])))
        try:
            acts.do(data.draw(st.sampled_from(ACTS), "act"))
        except Refused as problem:
            refusals.append(str(problem))
    assert list(mismatches()) == []
    assert all(sentence.endswith(".") for sentence in refusals)


def test_every_entry_belongs_to_one_plant(world: World) -> None:
    plants = [a_plant(world.member, world.bed) for _ in range(3)]
    for index, plant in enumerate(plants):
        for back in range(5):
            draft = Draft(Kind.WATERED, TODAY - timedelta(10 * back + index))
            log(world.member, plant, draft, now=NOON)
    given = {"how": "fruit", "until": None, "happened_on": TODAY, "note": ""}
    for first, second, back in ((0, 1, 25), (1, 2, 15), (2, 0, 5)):
        settle_pair(
            world.member,
            plants[first],
            plants[second],
            since=TODAY - timedelta(back),
            uuid=uuid4(),
            now=NOON,
            **given,
        )
    found = ledger.facts_by_record("plant", [plant.pk for plant in plants])
    ids = [fact.id for facts in found.values() for fact in facts]
    assert sorted(ids) == sorted(Entry.objects.filter(plant__in=plants).values_list("pk", flat=1))
    for plant in plants:
        assert ledger.standing_facts(plant) == found[plant.pk]

"""Plants and beds pass from hand to hand: proposed, accepted, declined, taken back."""

from datetime import date, timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.core.exceptions import PermissionDenied

from lifecycle.life.kinds import Kind
from lifecycle.models import (
    BedHolding,
    Entry,
    HandOver,
    Membership,
    Plant,
    TaskEvent,
    TaskOffer,
)
from lifecycle.records.crops.proof import mismatches
from lifecycle.records.people.handing import (
    accept,
    accept_for,
    cancel,
    decline,
    propose,
    raise_unanswered,
    record_agreed,
    take_effect,
    unanswered,
)
from lifecycle.records.people.handing_load import Load, bed_load, load_of
from lifecycle.records.refusal import Refused
from tests.conftest import World
from tests.factories import (
    NOON,
    MembershipFactory,
    PlaceFactory,
    a_plant,
    a_sowing,
    a_task,
    an_entry,
)
from tests.records.handings import TODAY, a_holding, a_receiver, proposed

State = HandOver.State


@pytest.fixture
def ben(world: World) -> Membership:
    return a_receiver(world)


def holder(plant: Plant) -> str | None:
    plant.refresh_from_db()
    return None if plant.holder is None else plant.holder.name


def test_a_proposal_changes_nothing_until_it_is_accepted(world: World, ben: Membership) -> None:
    made = proposed(world, ben, note="Water it  well.")
    assert (made.state, made.giver, made.note) == (
        State.PROPOSED,
        world.member.person,
        "Water it well.",
    )
    assert holder(world.plant) == "Member"
    done = accept(ben, made, now=NOON)
    assert (done.state, done.why, done.done_at) == (State.DONE, "", NOON)
    assert holder(world.plant) == "Ben Orchard"
    entry = world.plant.entries.get(kind=Kind.HANDED_OVER)
    assert (entry.happened_on, entry.by, entry.holder) == (TODAY, world.member.person, ben.person)
    assert world.plant.entries.get(kind=Kind.INHERITED).holder == world.member.person
    assert list(mismatches()) == []


def test_tasks_of_the_giver_move_and_say_so(world: World, ben: Membership) -> None:
    mine = a_task(world.plant, "cut_back", assignee=world.member.person)
    unasked = a_task(world.plant, "lift")
    others = a_task(world.plant, "mulch", assignee=world.owner.person)
    over = a_task(world.plant, "feed", assignee=world.member.person, latest=date(2026, 10, 13))
    offer = TaskOffer.objects.create(
        garden=world.garden,
        task=mine,
        by=world.member.person,
        to=world.owner.person,
        made_at=NOON,
    )
    accept(ben, proposed(world, ben), now=NOON)
    for task in (mine, unasked, others, over, offer):
        task.refresh_from_db()
    assert (mine.assignee, unasked.assignee) == (ben.person, None)
    assert (others.assignee, over.assignee) == (world.owner.person, world.member.person)
    assert offer.state == TaskOffer.State.PAST
    events = TaskEvent.objects.filter(act=TaskEvent.Act.HANDED_OVER).order_by("task")
    assert [event.task for event in events] == [mine, unasked]
    assert {(event.by, event.to) for event in events} == {(world.member.person, ben.person)}


def test_a_hand_over_for_later_takes_effect_on_its_day(world: World, ben: Membership) -> None:
    later = TODAY + timedelta(18)
    made = proposed(world, ben, from_day=later)
    accept(ben, made, now=NOON)
    made.refresh_from_db()
    assert made.state == State.ACCEPTED
    assert take_effect(made, now=NOON + timedelta(17)) is None
    assert holder(world.plant) == "Member"
    settled = take_effect(made, now=NOON + timedelta(20))
    assert settled is not None
    assert settled.state == State.DONE
    assert world.plant.entries.get(kind=Kind.HANDED_OVER).happened_on == later
    assert take_effect(made, now=NOON + timedelta(20)) is None


def test_accepted_after_its_day_it_counts_from_then(world: World, ben: Membership) -> None:
    made = proposed(world, ben)
    accept(ben, made, now=NOON + timedelta(3))
    assert world.plant.entries.get(kind=Kind.HANDED_OVER).happened_on == TODAY + timedelta(3)


@pytest.mark.parametrize("days", [-1, 61])
def test_a_day_too_early_or_too_far_is_refused(world: World, ben: Membership, days: int) -> None:
    with pytest.raises(Refused, match="Give a day from today, 14 October 2026, to 13 December"):
        proposed(world, ben, from_day=TODAY + timedelta(days))


def test_who_may_be_asked(world: World, ben: Membership) -> None:
    gone = a_receiver(world, left_on=date(2026, 9, 1))
    for to in (world.committee, gone, MembershipFactory()):
        with pytest.raises(Refused, match="cannot look after plants"):
            proposed(world, to)
    with pytest.raises(Refused, match="looks after it already"):
        proposed(world, world.member)
    assert not HandOver.objects.exists()


def test_who_may_propose(world: World, ben: Membership) -> None:
    with pytest.raises(PermissionDenied):
        proposed(world, ben, actor=ben)
    with pytest.raises(PermissionDenied):
        proposed(world, ben, actor=world.committee)
    with pytest.raises(Refused, match="looked after by Member"):
        proposed(world, world.owner, actor=ben, giver=ben.person)
    assert proposed(world, ben, actor=world.coordinator).by == world.coordinator.person
    with pytest.raises(Refused, match="does not belong"):
        proposed(world, ben, load=load_of(a_plant_elsewhere()))


def a_plant_elsewhere() -> Plant:
    owner = MembershipFactory(role="owner")
    return a_plant(owner, PlaceFactory(site__garden=owner.garden))


def test_a_plant_is_in_one_open_hand_over(world: World, ben: Membership) -> None:
    made = proposed(world, ben)
    with pytest.raises(Refused, match="Cayenne by the gate is part of a hand-over"):
        proposed(world, world.owner)
    cancel(world.member, made, now=NOON)
    assert proposed(world, world.owner).state == State.PROPOSED


def test_the_same_form_twice_is_one_proposal(world: World, ben: Membership) -> None:
    uuid = uuid4()
    assert proposed(world, ben, uuid=uuid) == proposed(world, ben, uuid=uuid)
    with pytest.raises(Refused, match="already used"):
        proposed(world, ben, actor=world.coordinator, uuid=uuid)


def test_what_nobody_has_is_taken_at_once(world: World, ben: Membership) -> None:
    free = a_plant(world.member, world.bed, holder=None)
    taken = propose(
        ben,
        load_of(free),
        giver=None,
        to=ben.person,
        from_day=TODAY,
        uuid=uuid4(),
        now=NOON,
    )
    assert taken.state == State.DONE
    assert holder(free) == "Ben Orchard"


def test_what_somebody_left_behind_is_nobodys(world: World, ben: Membership) -> None:
    Membership.objects.filter(pk=world.member.pk).update(left_on=TODAY)
    made = propose(
        world.owner,
        load_of(world.plant),
        giver=None,
        to=ben.person,
        from_day=TODAY,
        uuid=uuid4(),
        now=NOON,
    )
    accept(ben, made, now=NOON)
    assert holder(world.plant) == "Ben Orchard"


def test_declining_says_why_and_frees_the_plant(world: World, ben: Membership) -> None:
    made = proposed(world, ben)
    with pytest.raises(Refused, match="Say why") as empty:
        decline(ben, made, "  ", now=NOON)
    assert empty.value.field == "why"
    with pytest.raises(Refused, match="has 201 characters"):
        decline(ben, made, "x" * 201, now=NOON)
    assert decline(ben, made, "No room left.", now=NOON).why == "No room left."
    assert proposed(world, ben).state == State.PROPOSED
    with pytest.raises(Refused, match="You declined this already"):
        accept(ben, made, now=NOON)


def test_only_who_was_asked_answers(world: World, ben: Membership) -> None:
    made = proposed(world, ben)
    for act in (
        lambda: accept(world.owner, made, now=NOON),
        lambda: decline(world.owner, made, "No.", now=NOON),
    ):
        with pytest.raises(Refused, match="proposed to Ben Orchard"):
            act()
    for wrong in (
        lambda: accept_for(ben, made, now=NOON),
        lambda: cancel(ben, made, now=NOON),
        lambda: cancel(world.committee, made, now=NOON),
    ):
        with pytest.raises(PermissionDenied):
            wrong()
    with pytest.raises(Refused, match="does not belong"):
        accept(MembershipFactory(person=ben.person), made, now=NOON)


def test_a_coordinator_settles_what_was_agreed_in_person(world: World, ben: Membership) -> None:
    made = proposed(world, ben)
    assert accept_for(world.coordinator, made, now=NOON).why == "Agreed in person."
    assert holder(world.plant) == "Ben Orchard"
    with pytest.raises(Refused, match="noted already that you both agreed"):
        accept(ben, made, now=NOON)
    with pytest.raises(Refused, match="noted already that Ben Orchard agreed"):
        cancel(world.member, made, now=NOON)


def test_after_acceptance_only_a_coordinator_takes_it_back(world: World, ben: Membership) -> None:
    made = proposed(world, ben, from_day=TODAY + timedelta(5))
    accept(ben, made, now=NOON)
    with pytest.raises(Refused, match="Ben Orchard accepted this already"):
        cancel(world.member, made, now=NOON)
    assert cancel(world.coordinator, made, now=NOON).state == State.CANCELLED
    assert take_effect(made, now=NOON + timedelta(6)) is None


def test_an_agreed_hand_over_is_recorded_for_a_past_day(world: World, ben: Membership) -> None:
    def agreed(actor: Membership, day: date, **more: Any) -> HandOver:
        return record_agreed(
            actor,
            load_of(world.plant),
            giver=world.member.person,
            to=ben.person,
            happened_on=day,
            uuid=uuid4(),
            now=NOON,
            **more,
        )

    with pytest.raises(PermissionDenied):
        agreed(world.member, TODAY)
    for day in (TODAY - timedelta(31), TODAY + timedelta(1)):
        with pytest.raises(Refused, match="Give the day on which it happened"):
            agreed(world.coordinator, day)
    done = agreed(world.coordinator, date(2026, 10, 10))
    assert (done.state, done.why) == (State.DONE, "Agreed in person.")
    entry = world.plant.entries.get(kind=Kind.HANDED_OVER)
    assert (entry.happened_on, entry.by) == (date(2026, 10, 10), world.coordinator.person)


def test_a_whole_bed_passes_with_its_holding(world: World, ben: Membership) -> None:
    a_holding(world.bed, world.member)
    free = a_plant(world.member, world.bed, holder=None)
    others = a_plant(world.owner, world.bed)
    sowing = a_sowing(world.member, world.bed)
    load = bed_load(world.bed, world.member.person)
    assert (load.plants, load.sowings, load.place) == ([world.plant, free], [sowing], world.bed)
    made = proposed(world, ben, load=load)
    accept(ben, made, now=NOON)
    sowing.refresh_from_db()
    assert [holder(each) for each in (world.plant, free, others)] == [
        "Ben Orchard",
        "Ben Orchard",
        "Owner",
    ]
    assert list(
        BedHolding.objects.order_by("since").values_list("person__name", "since", "until")
    ) == [
        ("Member", date(2026, 3, 1), TODAY),
        ("Ben Orchard", TODAY, None),
    ]
    assert list(mismatches()) == []


def test_somebody_with_plants_in_a_bed_gives_only_those(world: World) -> None:
    a_plant(world.owner, world.bed, holder=None)
    load = bed_load(world.bed, world.member.person)
    assert (load.plants, load.place) == ([world.plant], None)


def test_what_changed_meanwhile_is_left_out_and_said(world: World, ben: Membership) -> None:
    a_holding(world.bed, world.member)
    ended, moved, passed = (a_plant(world.member, world.bed, name=n) for n in ("E", "M", "P"))
    made = proposed(world, ben, load=bed_load(world.bed, world.member.person))
    an_entry(world.member, ended, Kind.ENDED, happened_on=TODAY, choice="died")
    an_entry(world.member, moved, Kind.MOVED, happened_on=TODAY, place=world.quarters)
    Plant.objects.filter(pk=passed.pk).update(holder=world.owner.person)
    done = accept(ben, made, now=NOON)
    assert done.state == State.DONE
    assert done.why == (
        "Left out: E has ended. M stands somewhere else now. P has passed to somebody else."
    )
    assert holder(world.plant) == "Ben Orchard"


def test_where_nothing_is_left_it_comes_to_nothing(world: World, ben: Membership) -> None:
    made = proposed(world, ben)
    an_entry(world.member, world.plant, Kind.ENDED, happened_on=TODAY, choice="died")
    done = accept(ben, made, now=NOON)
    assert (done.state, done.why) == (
        State.CANCELLED,
        "Left out: Cayenne by the gate has ended.",
    )
    assert not Entry.objects.filter(kind=Kind.HANDED_OVER).exists()


def test_a_receiver_who_went_meanwhile_gets_nothing(world: World, ben: Membership) -> None:
    made = proposed(world, ben, from_day=TODAY + timedelta(2))
    accept(ben, made, now=NOON)
    Membership.objects.filter(pk=ben.pk).update(left_on=TODAY)
    settled = take_effect(made, now=NOON + timedelta(2))
    assert settled is not None
    assert settled.state == State.CANCELLED
    assert holder(world.plant) == "Member"


def test_an_empty_or_ended_load_is_refused(world: World, ben: Membership) -> None:
    with pytest.raises(Refused, match="nothing here to hand over"):
        proposed(world, ben, load=Load())
    an_entry(world.member, world.plant, Kind.ENDED, happened_on=TODAY, choice="died")
    with pytest.raises(Refused, match="has ended"):
        proposed(world, ben)


def test_a_week_without_an_answer_is_raised_once(world: World, ben: Membership) -> None:
    made = proposed(world, ben)
    assert unanswered(world.garden, NOON + timedelta(days=6, hours=23)) == []
    assert not raise_unanswered(made, now=NOON + timedelta(6))
    later = NOON + timedelta(7)
    assert unanswered(world.garden, later) == [made]
    assert raise_unanswered(made, now=later)
    assert not raise_unanswered(made, now=later)
    accept(ben, made, now=later)
    assert unanswered(world.garden, later) == []

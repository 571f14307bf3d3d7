"""Leaving a garden, being taken out of it, and coming back in time."""

from datetime import date, timedelta
from uuid import uuid4

import pytest
from django.core.exceptions import PermissionDenied

from lifecycle.models import (
    Ask,
    AuditNote,
    Away,
    BedHolding,
    CalendarAddress,
    CalendarItem,
    HandOver,
    Letter,
    Membership,
    Message,
    OnCallTurn,
    Person,
    Plant,
    PushSubscription,
    Role,
    TaskEvent,
    TaskOffer,
    WorkDraft,
)
from lifecycle.records.people.belongings import belongings_of
from lifecycle.records.people.handing import accept
from lifecycle.records.people.leaving import (
    WINDOW,
    Passing,
    come_back,
    leave,
    take_out,
)
from lifecycle.records.people.left import left_lately, open_returns, unheld_groups
from lifecycle.records.refusal import Refused
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, a_plant, a_sowing, a_task
from tests.records.frosts import a_night
from tests.records.handings import TODAY, a_holding, a_receiver, proposed
from tests.reminders.frost_nights import a_turn

State = HandOver.State


@pytest.fixture
def ben(world: World) -> Membership:
    return a_receiver(world)


def gone(member: Membership) -> Membership:
    member.refresh_from_db()
    return member


def test_leaving_dates_the_membership_and_lets_come_back(world: World) -> None:
    left = leave(world.member, nameless=True, now=NOON)
    assert (left.left_on, left.come_back_by, left.nameless) == (TODAY, NOON + WINDOW, True)
    assert not Plant.objects.visible_to(world.member.person).exists()
    note = AuditNote.objects.get(act="left")
    assert (note.by, note.about) == (world.member.person, world.member.person)
    letter = Letter.objects.get()
    assert (letter.about, letter.email) == ("leaving", world.member.person.email)
    assert left_lately(NOON) == [left]
    with pytest.raises(Refused, match="left this garden already"):
        leave(world.member, nameless=False, now=NOON)


def test_the_last_owner_stays(world: World) -> None:
    with pytest.raises(Refused, match="Make somebody else an owner first"):
        leave(world.owner, nameless=False, now=NOON)
    assert gone(world.owner).left_on is None
    MembershipFactory(garden=world.garden, role=Role.OWNER)
    assert leave(world.owner, nameless=False, now=NOON).left_on == TODAY


def test_an_owner_alone_in_a_garden_may_go(world: World) -> None:
    alone = MembershipFactory(role=Role.OWNER)
    assert leave(alone, nameless=False, now=NOON).left_on == TODAY


def test_plants_are_proposed_and_taken_after_the_giver_is_gone(
    world: World, ben: Membership
) -> None:
    a_holding(world.bed, world.member)
    other = a_plant(world.member, world.quarters, phase="resting")
    sowing = a_sowing(world.member, world.bench)
    leave(
        world.member,
        passings=[Passing(world.bed.pk, ben.person), Passing(world.bench.pk, ben.person)],
        nameless=False,
        now=NOON,
    )
    first, second = HandOver.objects.order_by("pk")
    assert {first.state, second.state} == {State.PROPOSED}
    assert [group.place for group in unheld_groups(gone(world.member))] == [
        world.bed,
        world.bench,
        world.quarters,
    ]
    for made in (first, second):
        done = accept(ben, made, now=NOON + timedelta(1))
        assert (done.state, done.why) == (State.DONE, "")
    for record in (world.plant, sowing, other):
        record.refresh_from_db()
    assert (world.plant.holder, sowing.holder) == (ben.person, ben.person)
    assert BedHolding.objects.get(until__isnull=True).person == ben.person
    [unheld] = unheld_groups(gone(world.member))
    assert unheld.plants == [other]


def test_work_goes_back_and_says_why(world: World, ben: Membership) -> None:
    mine = a_task(world.plant, "cut_back", assignee=world.member.person)
    offered = a_task(world.plant, "lift", assignee=ben.person)
    WorkDraft.objects.create(
        garden=world.garden,
        task=offered,
        to=world.member.person,
        by=world.coordinator.person,
        at=NOON,
    )
    offers = [
        TaskOffer.objects.create(garden=world.garden, task=task, by=by, to=to, made_at=NOON)
        for task, by, to in (
            (mine, world.member.person, ben.person),
            (offered, ben.person, world.member.person),
        )
    ]
    leave(world.member, nameless=False, now=NOON)
    for row in (mine, *offers):
        row.refresh_from_db()
    assert mine.assignee is None
    event = TaskEvent.objects.get(act=TaskEvent.Act.LEFT)
    assert (event.task, event.by) == (mine, world.member.person)
    assert TaskOffer.State.OPEN not in {offer.state for offer in offers}
    assert not WorkDraft.objects.exists()


def test_turns_absences_asks_and_messages_end(world: World, ben: Membership) -> None:
    person = world.member.person
    running = a_turn(world.site, person, first_day=TODAY - timedelta(2))
    a_turn(world.site, person, first_day=TODAY + timedelta(30), last_day=TODAY + timedelta(31))
    ask = Ask.objects.create(
        garden=world.garden,
        frost_night=a_night(world),
        person=person,
        rung=1,
        state=Ask.State.ACCEPTED,
        nonce=uuid4(),
        asked_at=NOON,
        answer_by=NOON,
    )
    for who, cover in ((person, None), (ben.person, person)):
        Away.objects.create(
            garden=world.garden,
            person=who,
            cover=cover,
            first_day=TODAY + timedelta(1),
            last_day=TODAY + timedelta(9),
            made_at=NOON,
        )
    pending = [a_pending(world, person), a_pending(world, ben.person)]
    CalendarItem.objects.create(
        garden=world.garden,
        person=person,
        uid=uuid4(),
        parts=[],
        content={},
        last_day=TODAY,
        made_at=NOON,
        changed_at=NOON,
    )
    leave(world.member, nameless=False, now=NOON)
    assert list(OnCallTurn.objects.values_list("pk", "last_day")) == [
        (running.pk, TODAY - timedelta(1))
    ]
    ask.refresh_from_db()
    assert ask.state == Ask.State.CALLED_OFF
    assert [(away.person, away.cover) for away in Away.objects.all()] == [(ben.person, None)]
    assert [Message.objects.get(pk=each.pk).state for each in pending] == ["cancelled", "pending"]
    assert not CalendarItem.objects.exists()


def a_pending(world: World, person: Person) -> Message:
    return Message.objects.create(
        garden=world.garden,
        key=f"pending:{person.pk}",
        person=person,
        channel="email",
        for_day=TODAY,
        not_before=NOON,
        expires_at=NOON + timedelta(1),
        made_at=NOON,
    )


def test_leaving_the_last_garden_stops_everything(world: World) -> None:
    person = world.member.person
    CalendarAddress.objects.create(person=person, nonce=uuid4(), made_at=NOON)
    PushSubscription.objects.create(
        person=person, endpoint="https://push.example/1", p256dh="x", auth="x", made_at=NOON
    )
    before = person.session_nonce
    second = MembershipFactory(person=person)
    leave(world.member, nameless=False, now=NOON)
    person.refresh_from_db()
    assert person.session_nonce == before
    assert CalendarAddress.objects.exists()
    leave(second, nameless=False, now=NOON)
    person.refresh_from_db()
    assert person.session_nonce != before
    assert not CalendarAddress.objects.exists()
    assert not PushSubscription.objects.exists()


def test_what_was_offered_to_the_leaver_ends(world: World, ben: Membership) -> None:
    made = proposed(world, ben)
    leave(ben, nameless=False, now=NOON)
    made.refresh_from_db()
    assert (made.state, made.why) == (State.CANCELLED, "The receiver left the garden.")
    assert proposed(world, world.owner).state == State.PROPOSED


def test_what_waits_in_a_hand_over_stays_there(world: World, ben: Membership) -> None:
    made = proposed(world, ben)
    leave(
        world.member,
        passings=[Passing(world.bed.pk, world.owner.person)],
        nameless=False,
        now=NOON,
    )
    assert HandOver.objects.get() == made
    assert accept(ben, made, now=NOON).state == State.DONE


def test_coming_back_in_time(world: World, ben: Membership) -> None:
    a_holding(world.bed, world.member)
    leave(world.member, passings=[Passing(world.bed.pk, ben.person)], nameless=True, now=NOON)
    later = NOON + timedelta(3)
    person = world.member.person
    assert open_returns(person, later) == [world.member]
    back = come_back(person, world.member, now=later)
    assert (back.left_on, back.come_back_by, back.nameless) == (None, None, False)
    assert HandOver.objects.get().state == State.CANCELLED
    assert BedHolding.objects.get().until is None
    assert open_returns(person, later) == []
    assert AuditNote.objects.filter(act="came_back", about=person).exists()
    with pytest.raises(Refused, match="too late"):
        come_back(person, world.member, now=later)


def test_coming_back_finds_a_plot_taken(world: World, ben: Membership) -> None:
    a_holding(world.bed, world.member)
    leave(world.member, passings=[Passing(world.bed.pk, ben.person)], nameless=False, now=NOON)
    accept(ben, HandOver.objects.get(), now=NOON)
    come_back(world.member.person, world.member, now=NOON + timedelta(1))
    assert BedHolding.objects.get(until__isnull=True).person == ben.person


def test_too_late_or_not_theirs(world: World, ben: Membership) -> None:
    leave(world.member, nameless=False, now=NOON)
    with pytest.raises(Refused, match="too late"):
        come_back(world.member.person, world.member, now=NOON + WINDOW)
    with pytest.raises(Membership.DoesNotExist):
        come_back(ben.person, world.member, now=NOON)
    MembershipFactory(garden=world.garden, person=world.member.person)
    with pytest.raises(Refused, match="belong to this garden already"):
        come_back(world.member.person, world.member, now=NOON)


def test_an_owner_comes_back_as_a_coordinator(world: World) -> None:
    MembershipFactory(garden=world.garden, role=Role.OWNER)
    leave(world.owner, nameless=False, now=NOON)
    assert come_back(world.owner.person, world.owner, now=NOON).role == Role.COORDINATOR


def test_a_coordinator_takes_somebody_out(world: World, ben: Membership) -> None:
    mine = a_task(world.plant, "cut_back", assignee=world.member.person)
    out = take_out(world.coordinator, world.member, now=NOON)
    assert (out.left_on, out.come_back_by) == (TODAY, None)
    mine.refresh_from_db()
    assert mine.assignee is None
    assert AuditNote.objects.get(act="removed").about == world.member.person
    assert left_lately(NOON) == [out]
    with pytest.raises(Refused, match="too late"):
        come_back(world.member.person, world.member, now=NOON)
    with pytest.raises(Refused, match="do not belong"):
        take_out(world.coordinator, world.member, now=NOON)


def test_who_may_take_whom_out(world: World, ben: Membership) -> None:
    for actor, member in (
        (ben, world.member),
        (world.committee, ben),
        (world.coordinator, world.owner),
    ):
        with pytest.raises(PermissionDenied):
            take_out(actor, member, now=NOON)
    with pytest.raises(Refused, match="Leave this garden"):
        take_out(world.owner, world.owner, now=NOON)


def test_belongings_are_listed_by_place(world: World) -> None:
    a_holding(world.bed, world.member)
    a_task(world.plant, "cut_back", assignee=world.member.person)
    a_turn(world.site, world.member.person)
    owned = belongings_of(world.member, TODAY)
    [group] = owned.groups
    assert (group.place, group.holds, group.plants) == (world.bed, True, [world.plant])
    assert (len(owned.tasks), len(owned.loans), len(owned.turns)) == (1, 0, 1)
    assert not belongings_of(world.committee, TODAY).any


def test_the_committee_leaves_too(world: World) -> None:
    assert leave(world.committee, nameless=False, now=NOON).left_on == date(2026, 10, 14)

"""What the ticks do with hand-overs and with people who left."""

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from lifecycle.models import HandOver, Membership, Message, Person, Site
from lifecycle.records.people.handing import accept, cancel, decline
from lifecycle.records.people.handing_load import Load, load_of
from lifecycle.records.people.leaving import WINDOW, come_back, leave, take_out
from lifecycle.reminders.messages import all_composers
from lifecycle.reminders.messages.composing import Composed
from lifecycle.reminders.people.handing import hand_over_all, tell
from lifecycle.reminders.people.leaving import leaving_all
from lifecycle.reminders.ticks import plan_tick
from tests.conftest import World
from tests.factories import NOON, a_plant
from tests.records.handings import TODAY, a_receiver, proposed


@pytest.fixture
def ben(world: World) -> Membership:
    return a_receiver(world)


def said(message: Message, now: datetime = NOON) -> Composed | None:
    return all_composers.COMPOSERS[message.about](message, now)


def told(**which: object) -> list[tuple[str, str, str]]:
    rows = Message.objects.filter(about="hand_over", channel="inbox", **which).order_by("pk")
    return [(each.person.name, each.kind, each.data["news"]) for each in rows]


def test_an_accepted_hand_over_takes_effect_on_the_sites_own_day(
    world: World, ben: Membership
) -> None:
    Site.objects.filter(pk=world.site.pk).update(time_zone="Pacific/Auckland")
    world.plant.site.refresh_from_db()
    day = TODAY + timedelta(4)
    accept(ben, proposed(world, ben, from_day=day), now=NOON)
    # Midnight of the 18th in Auckland is 11:00 UTC of the 17th.
    before = datetime(2026, 10, 17, 10, 59, tzinfo=UTC)
    assert hand_over_all(now=before) == 0
    assert hand_over_all(now=before + timedelta(minutes=2)) == 1
    assert hand_over_all(now=before + timedelta(minutes=2)) == 0
    world.plant.refresh_from_db()
    assert world.plant.holder == ben.person
    assert told() == [("Ben Orchard", "handed", "done"), ("Member", "handed", "done")]


def test_a_late_tick_dates_it_on_its_day(world: World, ben: Membership) -> None:
    accept(ben, proposed(world, ben, from_day=TODAY + timedelta(1)), now=NOON)
    plan_tick(now=NOON + timedelta(9))
    assert world.plant.entries.get(kind="handed_over").happened_on == TODAY + timedelta(1)


def test_seven_days_without_an_answer_tell_coordinators_once(world: World, ben: Membership) -> None:
    made = proposed(world, ben)
    assert hand_over_all(now=NOON + timedelta(6)) == 0
    assert hand_over_all(now=NOON + timedelta(7)) == 1
    assert hand_over_all(now=NOON + timedelta(8)) == 0
    assert told() == [("Coordinator", "lead", "raised")]
    message = Message.objects.get(channel="inbox")
    words = said(message)
    assert words is not None
    assert words.subject == (
        "Northfield: nobody answered a hand-over of Cayenne by the gate (Bed 3)"
    )
    assert any("waited for a week" in line.text for line in words.lines)
    accept(ben, made, now=NOON + timedelta(8))
    assert said(message) is None


def test_each_side_is_told_once_and_only_what_still_holds(world: World, ben: Membership) -> None:
    made = proposed(world, ben)
    assert len(tell(made, now=NOON)) == 2
    assert tell(made, now=NOON) == []
    message = Message.objects.get(channel="inbox")
    words = said(message)
    assert words is not None
    assert words.subject == "Northfield: Member asks you to take Cayenne by the gate (Bed 3)"
    assert words.lines[0].text == (
        "From 14 October, Member hands Cayenne by the gate (Bed 3) to Ben Orchard. No task moves."
    )
    assert words.url.endswith(f"/g/northfield/hand-overs/{made.pk}")
    tell(decline(ben, made, "No room.", now=NOON), now=NOON)
    assert said(message) is None
    answer = said(Message.objects.get(channel="inbox", person=world.member.person))
    assert answer is not None
    assert any("Ben Orchard declined. No room." in line.text for line in answer.lines)


def test_taking_back_tells_the_receiver(world: World, ben: Membership) -> None:
    tell(cancel(world.member, proposed(world, ben), now=NOON), now=NOON)
    assert told() == [("Ben Orchard", "handed", "cancelled")]


def test_coordinators_hear_once_of_who_left_and_what_nobody_has(
    world: World, ben: Membership
) -> None:
    waits = proposed(world, ben, load=load(world, "Promised"))
    offered = proposed(
        world,
        world.member,
        actor=world.owner,
        giver=world.owner.person,
        load=load(world, "Owner’s", holder=world.owner.person),
    )
    leave(world.member, nameless=False, now=NOON)
    assert leaving_all(now=NOON) > 0
    before = Message.objects.count()
    leaving_all(now=NOON + timedelta(1))
    assert Message.objects.count() == before
    words = said(Message.objects.get(about="left", channel="inbox"))
    assert words is not None
    text = "\n".join(line.text for line in words.lines)
    assert words.subject == "Northfield: Member left"
    assert "Bed 3: Cayenne by the gate, Promised" in text
    assert "1 hand-over of theirs waits" in text
    assert HandOver.objects.get(pk=waits.pk).state == "proposed"
    assert ("Owner", "handed", "cancelled") in told()
    assert HandOver.objects.get(pk=offered.pk).state == "cancelled"
    come_back(world.member.person, world.member, now=NOON + timedelta(1))
    assert said(Message.objects.get(about="left", channel="inbox")) is None


def load(world: World, name: str, **more: Any) -> Load:
    return load_of(a_plant(world.member, world.bed, name=name, **more))


def test_coordinators_hear_of_somebody_who_was_taken_out(world: World) -> None:
    take_out(world.owner, world.member, now=NOON)
    leaving_all(now=NOON)
    assert Message.objects.filter(about="left", person=world.coordinator.person).exists()


def test_a_name_goes_when_the_time_is_past_and_not_before(world: World) -> None:
    leave(world.member, nameless=True, now=NOON)
    leave(world.committee, nameless=False, now=NOON)
    leaving_all(now=NOON + WINDOW - timedelta(minutes=1))
    world.plant.refresh_from_db()
    assert world.plant.holder == world.member.person
    plan_tick(now=NOON + WINDOW)
    world.plant.refresh_from_db()
    assert world.plant.holder is not None
    assert world.plant.holder.name == "Former member"
    assert Membership.objects.get(pk=world.committee.pk).person == world.committee.person
    assert Person.objects.get(pk=world.member.person_id).name == "Member"


def test_whom_to_call_is_forgotten_for_everybody_who_left(world: World) -> None:
    Membership.objects.filter(garden=world.garden).update(
        emergency_name="Sister", emergency_phone="600 111 222"
    )
    leave(world.committee, nameless=False, now=NOON)
    leaving_all(now=NOON + WINDOW)
    kept = Membership.objects.filter(garden=world.garden, emergency_name="Sister")
    assert world.committee.pk not in kept.values_list("pk", flat=True)
    assert kept.count() == 3

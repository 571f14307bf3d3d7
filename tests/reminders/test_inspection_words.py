"""Holders are told in the evening what was found: one message a person for a day's round."""

from datetime import UTC, date, datetime, timedelta
from typing import Any
from uuid import uuid4

import pytest

from lifecycle.models import BedHolding, Inspection, Membership, Message, Place
from lifecycle.records.ground.holdings import hold, let_go
from lifecycle.records.ground.inspections import close, look
from lifecycle.reminders.messages.all_composers import COMPOSERS
from lifecycle.reminders.messages.composing import Composed
from lifecycle.reminders.people.inspection_words import tell_holders
from lifecycle.reminders.ticks import dispatch_tick
from tests.conftest import World
from tests.factories import NOON, PlaceFactory

pytestmark = pytest.mark.django_db
EVENING = datetime(2026, 10, 14, 18, tzinfo=UTC)
TODAY = NOON.date()


def plot_of(world: World, name: str, *people: Membership) -> Place:
    plot = PlaceFactory(site=world.site, common=False, name=name)
    for member in people:
        BedHolding.objects.create(
            garden=world.garden, place=plot, person=member.person, since=date(2026, 3, 1)
        )
    return plot


def found(world: World, plot: Place, *, now: datetime = NOON, **more: Any) -> Inspection:
    given: dict[str, Any] = {
        "looked_on": TODAY,
        "in_order": False,
        "finding": "Bindweed over the path",
        "put_right_by": None,
        **more,
    }
    notice = look(world.coordinator, plot, now=now, **given)
    tell_holders(notice, now=now)
    return notice


def written(message: Message) -> Composed | None:
    return COMPOSERS[message.about](message, EVENING)


def test_each_holder_gets_one_message_for_all_beds_of_the_round(world: World) -> None:
    one = plot_of(world, "Plot 7", world.member, world.owner)
    two = plot_of(world, "Plot 8", world.member)
    found(world, one)
    found(world, two, finding="Hose on the path", now=NOON + timedelta(hours=1))
    mails = Message.objects.filter(channel="email")
    assert sorted(mails.values_list("person", flat=True)) == sorted(
        [world.member.person_id, world.owner.person_id]
    )
    mail = mails.get(person=world.member.person)
    assert (mail.kind, mail.level, mail.not_before) == ("handed", "note", EVENING)
    said = written(mail)
    assert said is not None
    assert said.subject == "Northfield: something to put right, Plot 7, Plot 8"
    texts = [line.text for line in said.lines]
    assert "Found on 14 October: Bindweed over the path" in texts
    assert "Please put it right by 28 October." in texts
    assert "Found on 14 October: Hose on the path" in texts
    assert said.url.endswith(f"/g/northfield/beds/{one.pk}")
    other = written(mails.get(person=world.owner.person))
    assert other is not None
    assert "Plot 8" not in str(other)


def test_told_twice_is_told_once(world: World) -> None:
    plot = plot_of(world, "Plot 7", world.member)
    notice = found(world, plot)
    tell_holders(notice, now=NOON)
    found(world, plot)
    assert Message.objects.filter(channel="email").count() == 1


def test_what_is_found_after_the_message_went_goes_by_itself(world: World) -> None:
    one, two = (plot_of(world, name, world.member) for name in ("Plot 7", "Plot 8"))
    found(world, one)
    Message.objects.update(state="sent", sent_at=EVENING)
    late = EVENING + timedelta(hours=1)
    found(world, two, now=late)
    [mail] = Message.objects.filter(channel="email", state="pending")
    assert mail.not_before == late
    said = written(mail)
    assert said is not None
    assert "Plot 8" in said.subject
    assert "Plot 7" not in str(said)


def test_what_is_on_its_way_is_not_added_to(world: World) -> None:
    one, two = (plot_of(world, name, world.member) for name in ("Plot 7", "Plot 8"))
    found(world, one)
    Message.objects.update(claim=uuid4(), lease_until=EVENING)
    found(world, two)
    assert Message.objects.filter(channel="email").count() == 2


def test_nothing_is_said_of_what_was_closed_meanwhile(world: World) -> None:
    one, two = (plot_of(world, name, world.member) for name in ("Plot 7", "Plot 8"))
    first, second = found(world, one), found(world, two)
    mail = Message.objects.get(channel="email")
    close(world.coordinator, first, now=NOON)
    said = written(mail)
    assert said is not None
    assert said.subject == "Northfield: something to put right, Plot 8"
    close(world.coordinator, second, now=NOON)
    assert written(mail) is None


def test_only_who_still_holds_the_bed_is_told(world: World, mailoutbox) -> None:
    kept, passed = (plot_of(world, name, world.member) for name in ("Plot 7", "Plot 8"))
    found(world, kept)
    notice = found(world, passed, finding="Hose on the path")
    let_go(world.coordinator, passed, world.member.person, TODAY, NOON)
    hold(world.coordinator, passed, world.owner.person, TODAY, NOON)
    tell_holders(notice, now=NOON)
    dispatch_tick(now=EVENING)
    [mail] = mailoutbox
    assert mail.to == [world.member.person.email]
    assert mail.subject == "Northfield: something to put right, Plot 7"
    assert "Hose" not in mail.body


def test_who_holds_none_of_it_any_more_gets_no_message(world: World, mailoutbox) -> None:
    plot = plot_of(world, "Plot 7", world.member)
    found(world, plot)
    let_go(world.coordinator, plot, world.member.person, TODAY, NOON)
    dispatch_tick(now=EVENING)
    assert mailoutbox == []
    assert set(Message.objects.values_list("state", flat=True)) == {"cancelled"}


def test_a_bed_in_order_and_a_bed_of_nobody_tell_nobody(world: World) -> None:
    found(world, plot_of(world, "Plot 7", world.member), in_order=True, finding="")
    found(world, plot_of(world, "Plot 8"))
    assert not Message.objects.exists()

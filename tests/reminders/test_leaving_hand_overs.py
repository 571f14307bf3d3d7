"""Somebody leaves and hands on what stood in many places: each receiver gets one message."""

import pytest

from lifecycle.models import HandOver, Membership, Message
from lifecycle.records.people.belongings import groups_of
from lifecycle.records.people.handing import accept
from lifecycle.records.people.leaving import Passing, come_back, leave
from lifecycle.reminders.messages import all_composers
from lifecycle.reminders.messages.composing import Composed
from lifecycle.reminders.people.handing import tell, tell_after_leaving
from lifecycle.reminders.ticks import dispatch_tick
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, PlaceFactory, a_plant
from tests.records.handings import a_receiver, proposed

pytestmark = pytest.mark.django_db


@pytest.fixture
def ben(world: World) -> Membership:
    return a_receiver(world)


def leaver(world: World, *receivers: Membership, beds: int = 4) -> Membership:
    """Ana, who has a plant in each of some beds and passes them on to these in turn."""
    ana = MembershipFactory(garden=world.garden, person__name="Ana")
    for number in range(beds):
        bed = PlaceFactory(site=world.site, name=f"Plot {number + 1}")
        a_plant(ana, bed, name=f"Pepper {number + 1}")
    groups = groups_of(world.garden.pk, ana.person)
    to = [receivers[number % len(receivers)].person for number in range(beds)]
    passings = [Passing(group.key, one) for group, one in zip(groups, to, strict=True)]
    return leave(ana, passings=passings, nameless=False, now=NOON)


def said(message: Message) -> Composed:
    composed = all_composers.COMPOSERS[message.about](message, NOON)
    assert isinstance(composed, Composed)
    return composed


def test_four_beds_and_one_receiver_are_one_mail(world: World, ben: Membership, mailoutbox) -> None:
    member = leaver(world, ben)
    assert tell_after_leaving(member, now=NOON) == 2  # on the page, and a mail
    assert tell_after_leaving(member, now=NOON) == 0
    dispatch_tick(now=NOON)
    [mail] = [mail for mail in mailoutbox if ben.person.email in mail.to]
    assert mail.subject == "Northfield: Ana asks you to take Pepper 1 (Plot 1), and 3 more"
    for made in HandOver.objects.all():
        assert f"/g/northfield/hand-overs/{made.pk}" in mail.body
    for number in range(1, 5):
        assert f"Ana hands Pepper {number} (Plot {number}) to Ben Orchard." in mail.body


def test_two_receivers_get_one_each(world: World, ben: Membership) -> None:
    member = leaver(world, ben, world.owner)
    tell_after_leaving(member, now=NOON)
    mails = Message.objects.filter(about="hand_over", channel="email")
    assert sorted(len(mail.data["hand_overs"]) for mail in mails) == [2, 2]
    assert {mail.person for mail in mails} == {ben.person, world.owner.person}


def test_what_was_answered_meanwhile_is_left_out(world: World, ben: Membership) -> None:
    member = leaver(world, ben, beds=2)
    tell_after_leaving(member, now=NOON)
    mail = Message.objects.get(about="hand_over", channel="email")
    first, second = HandOver.objects.order_by("pk")
    accept(ben, first, now=NOON)
    words = said(mail)
    assert words.subject == "Northfield: Ana asks you to take Pepper 2 (Plot 2)"
    assert words.url.endswith(f"/hand-overs/{second.pk}")
    accept(ben, second, now=NOON)
    assert all_composers.COMPOSERS["hand_over"](mail, NOON) is None


def test_what_was_told_before_is_not_told_again(world: World, ben: Membership) -> None:
    tell(proposed(world, ben), now=NOON)
    before = Message.objects.count()
    member = leave(world.member, nameless=False, now=NOON)
    assert tell_after_leaving(member, now=NOON) == 0
    come_back(member.person, member, now=NOON)
    again = leave(Membership.objects.get(pk=member.pk), nameless=False, now=NOON)
    assert tell_after_leaving(again, now=NOON) == 0
    assert Message.objects.filter(about="hand_over").count() == before

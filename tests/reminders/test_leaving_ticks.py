"""What the ticks mail to somebody who is to be erased."""

from datetime import timedelta

import pytest
from django.core import mail

from lifecycle.models import Letter, Message, Person
from lifecycle.records.people.erasing_asked import LAST_WORD, ask_to_be_erased, keep_account
from lifecycle.records.people.leaving import WINDOW, leave
from lifecycle.records.weather.sensors import new_address
from lifecycle.reminders.messages.all_composers import COMPOSERS
from lifecycle.reminders.people.leaving import leaving_all
from lifecycle.reminders.people.letters import send_letters
from tests.conftest import World
from tests.factories import NOON, MembershipFactory

pytestmark = pytest.mark.django_db
LAST = "Today is the last day of your account"


def test_the_last_word_is_said_once_in_a_whole_day(world: World) -> None:
    person = world.member.person
    address = person.email
    ask_to_be_erased(person, now=NOON)
    now = NOON + WINDOW - LAST_WORD
    while now < NOON + WINDOW:
        leaving_all(now=now)
        send_letters(now=now)
        now += timedelta(minutes=30)
    assert [each.subject for each in mail.outbox].count(LAST) == 1
    leaving_all(now=now)
    assert Person.objects.get(pk=person.pk).erased_at == now
    assert not Letter.objects.filter(email=address).exists()


def test_coordinators_are_told_of_a_thermometer_without_an_address(world: World) -> None:
    maker = MembershipFactory(garden=world.garden, role="coordinator")
    new_address(maker, world.site, now=NOON)
    leave(maker, nameless=False, now=NOON)
    leaving_all(now=NOON)
    message = Message.objects.filter(about="left").first()
    assert message is not None
    words = COMPOSERS["left"](message, NOON)
    assert words is not None
    assert any("thermometer at Canal bank" in line.text for line in words.lines)


def test_asking_again_says_it_again(world: World) -> None:
    person = world.member.person
    near = NOON + WINDOW - timedelta(hours=1)
    for now in (NOON, near):
        ask_to_be_erased(person, now=now)
        for at in (now + WINDOW - timedelta(hours=2), now + WINDOW - timedelta(hours=1)):
            leaving_all(now=at)
            send_letters(now=at)
        if now == NOON:
            keep_account(person, now=near)
    assert [each.subject for each in mail.outbox].count(LAST) == 2

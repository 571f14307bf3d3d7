"""Two workers at the same moment, and two people who say yes at the same moment."""

import pytest

from lifecycle.models import Ask, FrostNight, Message
from lifecycle.records.nights.asks import answer, pass_on, volunteer
from lifecycle.records.nights.rota import join
from lifecycle.records.refusal import Refused
from lifecycle.reminders.nights.asking import ask_all
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, SiteFactory
from tests.records.threads import all_at_once
from tests.reminders.frost_nights import (
    BEGIN,
    MINUTE,
    NIGHT,
    a_bed,
    a_night,
    a_turn,
    asked,
    on_call,
    told,
)

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.database]
NAMES = ["Ana", "Ben", "Cleo", "Dan", "Eve"]
MANY = 6


@pytest.fixture
def night(transactional_db: None, world: World) -> FrostNight:
    on_call(world.site, NAMES)
    night = a_night(world.site)
    a_bed(night, world.bed)
    return night


def test_workers_at_once_ask_each_person_once(night: FrostNight) -> None:
    for minutes, wanted in ((0, NAMES[:2]), (45, NAMES[:4]), (90, NAMES[:4])):
        answers = all_at_once(MANY, lambda _, at=minutes: ask_all(now=BEGIN + at * MINUTE))
        assert not [each for each in answers if isinstance(each, Exception)]
        assert asked(night) == wanted
    assert told("frost_ask") == NAMES[:4]
    assert told("frost_ladder_end") == ["Coordinator"]


def test_workers_at_once_interrupt_nobody_at_two_sites(world: World) -> None:
    sites = [world.site, *SiteFactory.create_batch(2, garden=world.garden)]
    people = [MembershipFactory(garden=world.garden).person for _ in range(4)]
    for site in sites:
        a_night(site)
        for position, person in enumerate(people if site == sites[0] else people[::-1]):
            a_turn(site, person, position=position + 1)
    answers = all_at_once(MANY, lambda _: ask_all(now=BEGIN))
    assert not [each for each in answers if isinstance(each, Exception)]
    mails = Message.objects.filter(channel="email", level="act_today")
    told_people = list(mails.values_list("person", flat=True))
    assert len(told_people) == len(set(told_people))
    assert set(told_people) >= {person.pk for person in people}


def test_workers_at_once_tell_once_that_it_is_off(night: FrostNight) -> None:
    ask_all(now=BEGIN)
    FrostNight.objects.update(state="cancelled")
    all_at_once(MANY, lambda _: ask_all(now=BEGIN + MINUTE))
    assert told("frost_cancel") == NAMES[:2]


def test_two_people_accept_at_once(night: FrostNight) -> None:
    ask_all(now=BEGIN)
    asks = list(Ask.objects.order_by("pk"))
    answers = all_at_once(2, lambda index: answer(asks[index], True, BEGIN + MINUTE))
    assert all(isinstance(each, Ask) for each in answers), answers
    assert set(Ask.objects.values_list("state", flat=True)) == {"accepted"}


def test_an_ask_is_passed_to_one_person_once(night: FrostNight) -> None:
    ask_all(now=BEGIN)
    asks = list(Ask.objects.order_by("pk"))
    eve = night.site.on_call.get(person__name="Eve").person
    answers = all_at_once(2, lambda index: pass_on(asks[index], eve, BEGIN + MINUTE))
    assert sorted(type(each).__name__ for each in answers) == ["Ask", "Refused"]
    assert Ask.objects.filter(person=eve).count() == 1
    assert Ask.objects.filter(state="passed_on").count() == 1


def test_one_person_volunteers_once_from_many_phones(world: World, night: FrostNight) -> None:
    answers = all_at_once(MANY, lambda _: volunteer(world.member, night, BEGIN))
    assert all(isinstance(each, Ask) for each in answers), answers
    assert Ask.objects.filter(person=world.member.person).count() == 1


def test_one_turn_is_taken_once_from_many_phones(world: World) -> None:
    def take(_: int) -> object:
        return join(
            world.member, world.site, first_day=NIGHT, last_day=NIGHT, wakes=False, now=NOON
        )

    answers = all_at_once(MANY, take)
    assert sum(isinstance(each, Refused) for each in answers) == MANY - 1, answers
    assert world.site.on_call.count() == 1

"""What a night leaves behind: whom to ask what happened, and answers that come to nothing."""

from datetime import timedelta

import pytest

from lifecycle.models import Ask, FrostNight, Membership
from lifecycle.records.nights.asks import (
    accepted,
    answer,
    ask_rota,
    may_take_over,
    nights_to_tell_of,
    pass_on,
    place_ask,
    volunteer,
)
from lifecycle.records.refusal import Refused
from tests.conftest import World
from tests.factories import SiteFactory
from tests.reminders.frost_nights import BEGIN, MINUTE, NIGHT, a_night, clock, on_call

pytestmark = pytest.mark.django_db
NEXT = NIGHT + timedelta(1)


@pytest.fixture
def night(world: World) -> FrostNight:
    on_call(world.site, ["Ana", "Ben"])
    return a_night(world.site)


def asked(night: FrostNight, name: str) -> Ask:
    person = night.site.on_call.get(person__name=name).person
    ask = place_ask(night, person, rung=1, answer_by=BEGIN + 45 * MINUTE, now=BEGIN)
    assert ask is not None
    return ask


def test_nobody_is_asked_twice_for_a_night(night: FrostNight) -> None:
    ask = asked(night, "Ana")
    again = place_ask(night, ask.person, rung=2, answer_by=BEGIN, now=BEGIN)
    assert again is None
    assert Ask.objects.count() == 1


def test_who_said_yes_first_stands_first(night: FrostNight) -> None:
    ben, ana = asked(night, "Ben"), asked(night, "Ana")
    answer(ana, True, BEGIN + MINUTE)
    answer(ben, True, BEGIN + 2 * MINUTE)
    assert [ask.person.name for ask in accepted(night)] == ["Ana", "Ben"]


def test_only_who_is_on_call_and_not_asked_may_take_over(world: World, night: FrostNight) -> None:
    ask = asked(night, "Ana")
    assert [person.name for person in may_take_over(ask)] == ["Ben"]
    asked(night, "Ben")
    assert may_take_over(ask) == []
    with pytest.raises(Refused, match="not on call that night"):
        pass_on(ask, world.member.person, BEGIN)


def test_what_was_passed_on_is_not_passed_on_again(night: FrostNight) -> None:
    on_call(night.site, ["Cleo"], first=3)
    ask = asked(night, "Ana")
    ben, cleo = (night.site.on_call.get(person__name=name).person for name in ("Ben", "Cleo"))
    made = pass_on(ask, ben, BEGIN + 10 * MINUTE)
    # Whoever it is passed to has 45 minutes as well.
    assert made.answer_by == BEGIN + 55 * MINUTE
    with pytest.raises(Refused, match="passed this on to Ben already"):
        pass_on(ask, cleo, BEGIN + 11 * MINUTE)
    back = answer(ask, True, BEGIN + 12 * MINUTE)
    assert back.state == "accepted"
    # An answer in between does not let one person ask everybody.
    with pytest.raises(Refused, match="passed this on to Ben already"):
        pass_on(ask, cleo, BEGIN + 13 * MINUTE)


def test_a_volunteer_who_had_said_no_comes_after_all(world: World, night: FrostNight) -> None:
    ask = volunteer(world.member, night, BEGIN)
    answer(ask, False, BEGIN)
    assert volunteer(world.member, night, BEGIN + MINUTE).state == "accepted"
    with pytest.raises(Refused, match="any more"):
        volunteer(world.member, night, clock(7, day=NEXT))
    with pytest.raises(Refused, match="does not belong"):
        volunteer(world.member, a_night(SiteFactory()), BEGIN)


def test_the_nights_to_tell_of_are_those_one_came_to(night: FrostNight) -> None:
    ask = asked(night, "Ana")
    assert nights_to_tell_of(ask.person, clock(12, day=NEXT)) == []
    answer(ask, True, BEGIN)
    assert nights_to_tell_of(ask.person, clock(6, 59, NEXT)) == []
    assert nights_to_tell_of(ask.person, clock(7, 0, NEXT)) == [night]
    assert nights_to_tell_of(ask.person, clock(7, day=NIGHT + timedelta(7))) == [night]
    assert nights_to_tell_of(ask.person, clock(7, day=NIGHT + timedelta(8))) == []
    FrostNight.objects.update(outcome_at=clock(8, day=NEXT))
    assert nights_to_tell_of(ask.person, clock(12, day=NEXT)) == []


@pytest.mark.parametrize(("hour", "minute", "asks"), [(20, 59, True), (21, 0, False)])
def test_nobody_is_asked_for_once_quiet_hours_begin(
    world: World, night: FrostNight, hour: int, minute: int, asks: bool
) -> None:
    now = clock(hour, minute)
    if asks:
        ask_rota(world.coordinator, night, now)
    else:
        with pytest.raises(Refused, match="Nobody is asked between 21:00 and 07:00"):
            ask_rota(world.coordinator, night, now)
    assert (FrostNight.objects.get(pk=night.pk).ask_from is not None) is asks


def test_who_left_the_garden_does_not_stand_among_those_who_come(night: FrostNight) -> None:
    answer(asked(night, "Ana"), True, BEGIN)
    answer(asked(night, "Ben"), True, BEGIN)
    Membership.objects.filter(person__name="Ana").update(left_on=NIGHT)
    assert [ask.person.name for ask in accepted(night)] == ["Ben"]

"""Frost nights for tests: a night, its beds, and people on call, made by hand."""

from collections.abc import Iterable
from datetime import UTC, date, datetime, timedelta
from typing import Any

from lifecycle.models import (
    Ask,
    FrostBed,
    FrostNight,
    Membership,
    Message,
    OnCallTurn,
    Person,
    Place,
    Site,
)
from lifecycle.records.nights.asks import answer
from lifecycle.reminders.nights.asking import ask_all
from tests.conftest import World
from tests.factories import MembershipFactory, PersonFactory

NIGHT = date(2026, 10, 14)


def clock(hour: int, minute: int = 0, day: date = NIGHT) -> datetime:
    """An instant on the clock of a site on UTC."""
    return datetime(day.year, day.month, day.day, hour, minute, tzinfo=UTC)


SUNSET = clock(18, 5)
BEGIN = clock(13, 35)
"""Four and a half hours before sunset."""
MINUTE = timedelta(minutes=1)


def a_night(site: Site, **more: Any) -> FrostNight:
    """A called frost night on 14 October 2026 with sunset at 18:05; ``more`` overrules."""
    given: dict[str, Any] = {
        "garden_id": site.garden_id,
        "site": site,
        "night": NIGHT,
        "state": FrostNight.State.CALLED,
        "expected_c": -1.0,
        "sd_c": 2.0,
        "kill_chance": 0.7,
        "harm_chance": 0.9,
        "kill_ratio": 0.05,
        "harm_ratio": 0.2,
        "calm": True,
        "sunset_at": SUNSET,
        "low_at": clock(5, day=NIGHT + timedelta(1)),
        "people_needed": 2,
        "judged_at": clock(6),
        "called_at": clock(6),
        **more,
    }
    if given["state"] != FrostNight.State.CALLED:
        given["called_at"] = more.get("called_at")
    return FrostNight.objects.create(**given)


def a_bed(night: FrostNight, place: Place, **more: Any) -> FrostBed:
    """A bed of a night that is to be covered."""
    given = {"action": FrostBed.Action.COVER, "plants": 4, **more}
    return FrostBed.objects.create(
        garden_id=night.garden_id, frost_night=night, place=place, **given
    )


def on_call(site: Site, names: Iterable[str], *, first: int = 1, **more: Any) -> list[Membership]:
    """Members on call at a site all October, in this order from ``first``."""
    made = []
    for position, name in enumerate(names, start=first):
        member = MembershipFactory(
            garden=site.garden, person=PersonFactory(name=name, phone=f"600 {position:03}")
        )
        a_turn(site, member.person, position=position, **more)
        made.append(member)
    return made


def a_turn(site: Site, person: Person, **more: Any) -> OnCallTurn:
    """A turn from the first to the last of October."""
    given = {"first_day": date(2026, 10, 1), "last_day": date(2026, 10, 31), **more}
    return OnCallTurn.objects.create(garden_id=site.garden_id, site=site, person=person, **given)


def asked(night: FrostNight) -> list[str]:
    """The names of who was asked, in the order of asking."""
    asks = Ask.objects.filter(frost_night=night, rung__gt=0).order_by("rung", "pk")
    return [ask.person.name for ask in asks]


def told(about: str, channel: str = "email") -> list[str]:
    """The names of who got a message of this kind on a channel, in the order of writing."""
    rows = Message.objects.filter(about=about, channel=channel).select_related("person")
    return [message.person.name for message in rows.order_by("pk")]


def levels(about: str) -> set[str]:
    """The levels of the e-mails of this kind."""
    return set(Message.objects.filter(about=about, channel="email").values_list("level", flat=True))


def an_answered_night(world: World) -> FrostNight:
    """A called night: Ana said yes, Ben no; Wim was not asked and may be woken."""
    on_call(world.site, ["Ana", "Ben"])
    on_call(world.site, ["Wim"], first=3, wakes=True)
    night = a_night(world.site, people_needed=1)
    a_bed(night, world.bed)
    ask_all(now=BEGIN)
    answer(Ask.objects.get(person__name="Ana"), True, BEGIN)
    answer(Ask.objects.get(person__name="Ben"), False, BEGIN)
    return night

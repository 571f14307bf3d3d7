"""The part of the frost page that says who was asked, who comes, and who is asked next."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from lifecycle.models import Ask, FrostNight, Membership, Person
from lifecycle.permissions import can
from lifecycle.records.nights.asks import ASKABLE, BY_THEMSELVES, night_ends
from lifecycle.records.nights.rota import ACTING_ROLES
from lifecycle.reminders.clock import is_quiet
from lifecycle.reminders.nights.ask_ladder import Evening, next_asked
from lifecycle.reminders.nights.ask_notices import answer_words


@dataclass(frozen=True, slots=True)
class Asked:
    """One person who was asked or came: the name, and what the ask came to."""

    name: str
    words: str
    came: bool


@dataclass(frozen=True, slots=True)
class Number:
    """A telephone number for the coordinator; "" where none was given."""

    name: str
    phone: str
    words: str


def panel(member: Membership, frost_night: FrostNight, now: datetime) -> dict[str, Any]:
    """Return the context ``asks`` of the frost page. Five queries at most, whoever was asked."""
    evening = Evening(frost_night, now)
    zone = frost_night.site.time_zone
    mine = next((ask for ask in evening.asks if ask.person_id == member.person_id), None)
    is_open = frost_night.state in ASKABLE and now < night_ends(frost_night)
    tonight = frost_night.night == frost_night.site.local_day(now)
    following = next_asked(evening, now)
    lead = can(member, "frost.lead")
    may_do = is_open and can(member, "frost.do")
    quiet = is_quiet(now, zone)
    return {
        "night": frost_night,
        "needed": evening.needed,
        "accepted": [ask.person.name for ask in evening.asks if ask.state == Ask.State.ACCEPTED],
        "asked": [
            Asked(ask.person.name, _words(ask, zone), ask.state == Ask.State.ACCEPTED)
            for ask in evening.asks
        ],
        "next_at": following[0] if following else None,
        "next_people": [person.name for person in following[1]] if following else [],
        "lead_told": evening.lead_told,
        "elsewhere": [person.name for person in evening.elsewhere],
        "is_open": is_open,
        "mine": mine,
        "may_ask": is_open
        and lead
        and tonight
        and not quiet
        and not evening.rungs
        and not evening.lead_told,
        "may_volunteer": may_do and (mine is None or mine.state == Ask.State.CALLED_OFF),
        "may_answer": may_do and mine is not None and mine.state != Ask.State.CALLED_OFF,
        "instead": evening.free if may_do and mine is not None and not quiet else [],
        "phones": _phones(evening, zone) if lead and is_open else [],
    }


def _words(ask: Ask, zone: str) -> str:
    words = answer_words(ask, zone)
    return f"{words}, without being asked" if ask.rung == BY_THEMSELVES else words


def _phones(evening: Evening, zone: str) -> list[Number]:
    """Return whom a coordinator can ring: on call first, then every other member who may act."""
    said = {ask.person_id: answer_words(ask, zone) for ask in evening.asks}
    elsewhere = {person.pk for person in evening.elsewhere}
    on_call = [turn.person for turn in evening.turns]
    first = {person.pk for person in on_call}
    others = (
        Person.objects.filter(
            memberships__garden=evening.night.garden_id,
            memberships__left_on__isnull=True,
            memberships__role__in=ACTING_ROLES,
            is_active=True,
        )
        .exclude(pk__in=first)
        .order_by("name", "pk")
    )
    numbers = [
        Number(
            person.name,
            person.phone,
            said.get(person.pk)
            or ("already asked elsewhere today" if person.pk in elsewhere else "not asked"),
        )
        for person in on_call
    ]
    return numbers + [
        Number(person.name, person.phone, said.get(person.pk, "not on call")) for person in others
    ]

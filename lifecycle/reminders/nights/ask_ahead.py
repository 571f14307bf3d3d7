"""Before a frost night: it is possible, the rota has a gap, this is the plan, it is unknown."""

from datetime import datetime, timedelta

from django.db.models import Q

from lifecycle.life.phases import Phase
from lifecycle.models import FrostBed, FrostNight, Message, Person, Plant, Sowing
from lifecycle.records.nights.asks import night_ends
from lifecycle.records.nights.rota import leads_of, on_call
from lifecycle.reminders.nights.ask_tell import mark_said, tell
from lifecycle.reminders.nights.ask_times import times_of

AHEAD, PLAN, OLD_DATA = "ahead", "plan", "old_data"
AHEAD_DAYS = range(1, 4)
APART = timedelta(days=3)
"""Holders read of a possible frost once in a cold spell, not night by night."""
_PAGE_ONLY = (Message.Channel.INBOX,)


def note_ahead(night: FrostNight, now: datetime) -> int:
    """Note a possible frost for holders, and a gap of the rota for coordinators; page only."""
    ahead = (night.night - night.site.local_day(now)).days
    if night.state != FrostNight.State.POSSIBLE or ahead not in AHEAD_DAYS or AHEAD in night.said:
        return 0
    told = 0
    for person in _holders_to_tell(night, now):
        told += _note(night, person, "frost_possible", Message.Kind.FROST, now)
    if len(on_call(night.site, night.night)) < max(night.people_needed, 1):
        for lead in leads_of(night.garden_id):
            told += _note(night, lead, "frost_gap", Message.Kind.LEAD, now)
    mark_said(night, AHEAD)
    return told


def plan_ahead(night: FrostNight, now: datetime) -> int:
    """Tell people on call and the coordinator, from 16:00 of the day before, what is planned."""
    times = times_of(night)
    if night.state != FrostNight.State.POSSIBLE or not times.plan_from <= now < times.plan_until:
        return 0
    if PLAN in night.said:
        return 0
    people = [turn.person for turn in on_call(night.site, night.night)]
    people += [lead for lead in leads_of(night.garden_id) if lead not in people]
    told = sum(
        tell(
            night,
            person,
            "frost_plan",
            level=Message.Level.DUE,
            now=now,
            expires_at=times.dusk,
        )
        for person in people
    )
    mark_said(night, PLAN)
    return told


def old_data(night: FrostNight, now: datetime) -> int:
    """When asking would begin, tell coordinators that nobody is asked: the forecast is too old.

    Only a fresh forecast calls a night; a coordinator can ask without one.
    """
    times = times_of(night)
    waits = night.state == FrostNight.State.POSSIBLE and night.stale and night.ask_from is None
    if not waits or not times.begin <= now < times.quiet_from or OLD_DATA in night.said:
        return 0
    if night.asks.exists():
        return 0
    told = sum(
        tell(
            night,
            lead,
            "frost_old_data",
            level=Message.Level.DUE,
            now=now,
            expires_at=times.quiet_from,
        )
        for lead in leads_of(night.garden_id)
    )
    mark_said(night, OLD_DATA)
    return told


def _note(night: FrostNight, person: Person, about: str, kind: str, now: datetime) -> int:
    return tell(
        night,
        person,
        about,
        level=Message.Level.NOTE,
        kind=kind,
        now=now,
        expires_at=night_ends(night),
        channels=_PAGE_ONLY,
    )


def _holders_to_tell(night: FrostNight, now: datetime) -> list[Person]:
    """Return who holds a plant where something must be done, and read of no frost lately."""
    places = FrostBed.objects.filter(frost_night=night).exclude(action=FrostBed.Action.LEAVE)
    holders = Q()
    for table in (Plant, Sowing):
        living = table.objects.filter(place__in=places.values("place")).exclude(phase=Phase.ENDED)
        holders |= Q(pk__in=living.values("holder"))
    lately = Message.objects.filter(
        garden=night.garden_id,
        about="frost_possible",
        made_at__gt=now - APART,
    ).values("person")
    return list(
        Person.objects.filter(
            holders,
            is_active=True,
            memberships__garden=night.garden_id,
            memberships__left_on__isnull=True,
        )
        .exclude(pk__in=lately)
        .order_by("pk")
    )

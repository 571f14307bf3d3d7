"""The ladder of a frost night: two people, the next two, then the coordinator with the list.

What is due follows from the asks on record and ``now``. A late tick takes the step that is due
then and does not replay those it missed.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cached_property

from django.db import transaction
from django.db.models import F, Prefetch, prefetch_related_objects

from lifecycle.models import Ask, FrostBed, FrostNight, Message, OnCallTurn, Person
from lifecycle.records.nights.asks import (
    LIVE,
    OFF,
    ask_again,
    call_off,
    mark_unanswered,
    night_ends,
    of_members,
    place_ask,
)
from lifecycle.records.nights.rota import leads_of, on_call
from lifecycle.reminders.nights.alert_budget import spent
from lifecycle.reminders.nights.ask_tell import ask_key, mark_said, tell
from lifecycle.reminders.nights.ask_times import SHORT_STEP, times_of

AT_A_TIME = 2
LEAD_RUNG = 3
"""After two rungs of people the third step is the coordinator's."""
LEAD = "lead"
ASKS = Prefetch("asks", of_members(Ask.objects.select_related("person", "passed_to")))


class Evening:
    """What the ladder looks at: the night, its hours, who was asked, who could be.

    What costs a query is read when it is first asked for: most minutes change nothing.
    """

    def __init__(self, night: FrostNight, now: datetime) -> None:
        prefetch_related_objects([night], ASKS)
        self.night = night
        self.times = times_of(night)
        self.asks = list(night.asks.all())
        self._now = now

    @cached_property
    def turns(self) -> list[OnCallTurn]:
        """Who is on call, first one first."""
        return on_call(self.night.site, self.night.night)

    @cached_property
    def barred(self) -> set[int]:
        """Who on call was interrupted today already."""
        people = [turn.person_id for turn in self.turns]
        return spent(people, Message.Level.ACT_TODAY, self._now, self.night.site.time_zone)

    @property
    def lead_told(self) -> bool:
        """Whether the coordinator has the list."""
        return LEAD in self.night.said

    @property
    def accepted(self) -> int:
        """How many said yes."""
        return sum(ask.state == Ask.State.ACCEPTED for ask in self.asks)

    @property
    def needed(self) -> int:
        """How many are needed; somebody always."""
        return max(self.night.people_needed, 1)

    @property
    def free(self) -> list[Person]:
        """Who is on call, was not asked for this night and may be, first one first."""
        return [person for person in self._unasked if person.pk not in self.barred]

    @property
    def elsewhere(self) -> list[Person]:
        """Who is on call and was not asked for this night, because another one had them today."""
        return [person for person in self._unasked if person.pk in self.barred]

    @property
    def _unasked(self) -> list[Person]:
        asked = {ask.person_id for ask in self.asks}
        return [turn.person for turn in self.turns if turn.person_id not in asked]

    @property
    def rungs(self) -> int:
        """How many rungs were asked since asking began."""
        return len({ask.rung for ask in self._climbed})

    @property
    def last_rung_at(self) -> datetime | None:
        """When the last rung was asked; None before the first."""
        last = max((ask.rung for ask in self._climbed), default=0)
        return min((ask.asked_at for ask in self._climbed if ask.rung == last), default=None)

    @property
    def _climbed(self) -> list[Ask]:
        start = self.night.ask_from
        if start is None:
            return []
        return [ask for ask in self.asks if ask.rung and ask.asked_at >= start]

    @property
    def again(self) -> list[Ask]:
        """Whose ask was called off before the night was called again: who said yes, then others.

        Who had not answered is asked again only while on call.
        """
        off = [ask for ask in self.asks if ask.state == Ask.State.CALLED_OFF]
        if not off:
            return []
        order = {turn.person_id: number for number, turn in enumerate(self.turns)}
        others = [ask for ask in off if ask.answered_at is None and ask.person_id in order]
        others.sort(key=lambda ask: order[ask.person_id])
        return [ask for ask in off if ask.answered_at is not None] + others

    def waiting(self, now: datetime) -> bool:
        """Return whether somebody still has time to answer."""
        return any(ask.state == Ask.State.ASKED and ask.answer_by > now for ask in self.asks)


@dataclass(frozen=True, slots=True)
class Move:
    """The next step: whom to ask, whom to ask again, and whether the coordinator takes over."""

    people: Sequence[Person] = ()
    again: Sequence[Ask] = ()
    lead: bool = False


def is_running(night: FrostNight) -> bool:
    """Return whether people are to be asked for a night: it is called, or a coordinator asked."""
    return night.state == FrostNight.State.CALLED or (
        night.state == FrostNight.State.POSSIBLE and night.ask_from is not None
    )


def next_move(evening: Evening, now: datetime) -> Move | None:
    """Return the step that is due at ``now``, or None."""
    if evening.accepted >= evening.needed or _next_at(evening, now) > now:
        return None
    return _move_at(evening, now)


def next_asked(evening: Evening, now: datetime) -> tuple[datetime, list[Person]] | None:
    """Return when the next step falls if nobody answers, and whom it asks; nobody: coordinator.

    None when no step is left.
    """
    night, times = evening.night, evening.times
    if not is_running(night) or now >= times.quiet_from:
        return None
    if evening.accepted >= evening.needed:
        return None
    at = _next_at(evening, now if night.ask_from is not None else max(times.begin, now))
    move = _move_at(evening, at)
    return (at, [*(ask.person for ask in move.again), *move.people]) if move else None


def _next_at(evening: Evening, now: datetime) -> datetime:
    """Return when, from ``now`` on, the next step is due: nobody is left to answer, or time is up.

    One step after the other: what a late tick has missed is not left out.
    """
    last, step = evening.last_rung_at, _step_time(evening, now)
    if last is None or step is None or not evening.waiting(now):
        return now
    return max(last + step, now)


def _step_time(evening: Evening, at: datetime) -> timedelta | None:
    """Return the time for a step; asking begins when the first are asked, ``at`` or before."""
    begun = evening.night.ask_from if evening.rungs else None
    return evening.times.step_from(begun or at)


def _move_at(evening: Evening, at: datetime) -> Move | None:
    """Return whom a step at this instant asks; everybody left where no other fits before dusk."""
    step = _step_time(evening, at)
    if step is None or (at + step > evening.times.dusk and not evening.lead_told):
        move = Move(evening.free, evening.again, lead=not evening.lead_told)
    else:
        move = _step(evening, evening.rungs + 1)
    return move if move.people or move.again or move.lead else None


def _step(evening: Evening, number: int) -> Move:
    """Return the step of this number: two people, or the coordinator where nobody is left."""
    if number < LEAD_RUNG:
        again = evening.again
        # Whoever had said yes is asked in the first step, however many they are.
        said_yes = sum(ask.answered_at is not None for ask in again)
        again = again[: max(AT_A_TIME, said_yes)]
        people = evening.free[: max(AT_A_TIME - len(again), 0)]
        if people or again:
            return Move(people, again)
    return Move(lead=not evening.lead_told)


def climb(night: FrostNight, now: datetime) -> int:
    """Take the step of the ladder that is due. Returns how many people were told."""
    times = times_of(night)
    by_itself = night.ask_from is None and now < times.begin
    if not is_running(night) or by_itself or not times.morning <= now < times.quiet_from:
        return 0
    if not _anything_due(Evening(night, now), now):
        return 0
    with transaction.atomic():
        current = locked_night(night)
        if not is_running(current):
            return 0
        mark_unanswered(current, now=now)
        evening = Evening(current, now)
        move = next_move(evening, now)
        told = _take(evening, move, now) if move is not None else 0
        return told + _tell_asked(evening, now)


def _anything_due(evening: Evening, now: datetime) -> bool:
    """Look without a lock, so that a quiet minute costs no more than reading."""
    late = any(ask.state == Ask.State.ASKED and ask.answer_by <= now for ask in evening.asks)
    return late or next_move(evening, now) is not None or bool(_unsaid(evening.asks))


def stop(night: FrostNight, now: datetime) -> int:
    """Tell everybody who was asked that a night is called off. Returns how many were told."""
    if night.state not in OFF or now >= night_ends(night):
        return 0
    prefetch_related_objects([night], ASKS)
    if night.ask_from is None and not any(ask.state in LIVE for ask in night.asks.all()):
        return 0
    with transaction.atomic():
        current = locked_night(night)
        if current.state not in OFF:
            return 0
        told = 0
        off_at = min(times_of(current).low, night_ends(current))
        for ask in current.asks.select_related("person"):
            told += tell(
                current,
                ask.person,
                "frost_cancel",
                level=Message.Level.DUE,
                now=now,
                expires_at=off_at,
                ask=ask,
            )
        for person in _leads_told(current):
            told += tell(
                current,
                person,
                "frost_cancel",
                level=Message.Level.DUE,
                now=now,
                expires_at=off_at,
                run=_run(current),
            )
        call_off(current)
        current.ask_from = current.told_c = None
        current.said = [each for each in current.said if each != LEAD]
        current.save(update_fields=["ask_from", "told_c", "said"])
        FrostBed.objects.filter(frost_night=current).update(told_action="")
    return told


def locked_night(night: FrostNight) -> FrostNight:
    """Lock the night, then everybody who may be interrupted for it, in one order for all."""
    rows = FrostNight.objects.select_for_update(of=("self",)).select_related("site", "garden")
    current = rows.get(pk=night.pk)
    people = {turn.person_id for turn in on_call(current.site, current.night)}
    people.update(person.pk for person in leads_of(current.garden_id))
    list(
        Person.objects.select_for_update(no_key=True)
        .filter(pk__in=people)
        .order_by("pk")
        .values_list("pk", flat=True)
    )
    return current


def _take(evening: Evening, move: Move, now: datetime) -> int:
    """Write the asks of a step, and tell the coordinator if it is theirs."""
    night, times = evening.night, evening.times
    # The list names this time of asking: its coordinator must be found again when it is off.
    if night.ask_from is None or (not evening.rungs and not evening.lead_told):
        night.ask_from = now
    assert night.ask_from is not None
    step = times.step_from(night.ask_from)
    at_least = max(now, min(now + SHORT_STEP, times.low))
    answer_by = now + step if step is not None else max(times.dusk, at_least)
    rung = max((ask.rung for ask in evening.asks), default=0) + 1
    for ask in move.again:
        ask_again(ask, rung=rung, answer_by=answer_by, now=now)
    for person in move.people:
        made = place_ask(night, person, rung=rung, answer_by=answer_by, now=now)
        if made is not None:
            evening.asks.append(made)
    note_told(night)
    return _tell_leads(evening, now) if move.lead else 0


def note_told(night: FrostNight) -> None:
    """Note what people are told now of the low and of each bed, to know later what is news."""
    night.told_c = night.expected_c
    night.save(update_fields=["ask_from", "told_c"])
    FrostBed.objects.filter(frost_night=night).update(told_action=F("action"))


def _unsaid(asks: Sequence[Ask]) -> list[Ask]:
    """Return the open asks that no message tells of yet: also those passed on by somebody."""
    inbox = Message.Channel.INBOX
    keys = {
        f"{ask_key(about, ask)}:{inbox}": ask.pk
        for ask in asks
        if ask.state == Ask.State.ASKED
        for about in ("frost_ask", "frost_update")
    }
    found = Message.objects.filter(key__in=keys).values_list("key", flat=True) if keys else ()
    said = {keys[key] for key in found}
    return [ask for ask in asks if ask.state == Ask.State.ASKED and ask.pk not in said]


def _tell_asked(evening: Evening, now: datetime) -> int:
    """Send every open ask that was not sent yet."""
    unsaid = _unsaid(evening.asks)
    levels = _levels(evening.night, [ask.person for ask in unsaid], now)
    return sum(
        tell(
            evening.night,
            ask.person,
            "frost_ask",
            level=levels[ask.person_id],
            now=now,
            expires_at=evening.times.quiet_from,
            ask=ask,
        )
        for ask in unsaid
    )


def _tell_leads(evening: Evening, now: datetime) -> int:
    """Give the coordinator the list with telephone numbers, once for each time of asking."""
    mark_said(evening.night, LEAD)
    leads = leads_of(evening.night.garden_id)
    levels = _levels(evening.night, leads, now)
    return sum(
        tell(
            evening.night,
            lead,
            "frost_ladder_end",
            level=levels[lead.pk],
            now=now,
            expires_at=evening.times.quiet_from,
            run=_run(evening.night),
        )
        for lead in leads
    )


def _levels(night: FrostNight, people: Sequence[Person], now: datetime) -> dict[int, str]:
    """Return how loud each may be told: old data lowers it, and nobody is interrupted twice."""
    act, due = Message.Level.ACT_TODAY, Message.Level.DUE
    barred = spent([person.pk for person in people], act, now, night.site.time_zone)
    return {person.pk: due if night.stale or person.pk in barred else act for person in people}


def _run(night: FrostNight) -> int:
    """Return the number of this time of asking: a night called again is asked for anew."""
    return int(night.ask_from.timestamp()) if night.ask_from is not None else 0


def _leads_told(night: FrostNight) -> list[Person]:
    """Return the coordinators who were given the list and were not asked themselves."""
    if LEAD not in night.said:
        return []
    told = Message.objects.filter(
        about="frost_ladder_end", key__startswith=f"frost_ladder_end:{night.pk}:{_run(night)}:"
    ).values("person")
    asked = night.asks.values("person")
    return list(Person.objects.filter(pk__in=told).exclude(pk__in=asked).order_by("pk"))

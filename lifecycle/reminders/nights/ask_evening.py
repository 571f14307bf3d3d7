"""The evening and the morning of a frost night: what is not covered, what is new, uncovering."""

from collections.abc import Mapping
from datetime import datetime, time, timedelta
from statistics import NormalDist

from django.db import transaction

from lifecycle.models import (
    AirReading,
    Ask,
    FrostBed,
    FrostNight,
    Membership,
    Message,
    Person,
)
from lifecycle.records.nights.asks import accepted, place_ask
from lifecycle.records.nights.rota import leads_of, on_call
from lifecycle.reminders.clock import is_quiet, wall_time
from lifecycle.reminders.nights.alert_budget import spent
from lifecycle.reminders.nights.ask_ladder import is_running, locked_night, note_told
from lifecycle.reminders.nights.ask_tell import mark_said, tell
from lifecycle.reminders.nights.ask_times import NightTimes, times_of

UNCOVERED, UNCOVER, OUTCOME = "uncovered", "uncover", "outcome"
MATERIALLY_COLDER_C = 1.5
"""So much colder than told is news, if it changes what is to be done. A choice of this site."""
UNCOVER_ABOVE_C = 2.0
READ_WITHIN = timedelta(minutes=60)
COLD_WITHIN = timedelta(hours=2)
"""A warm reading counts for an hour; a cold one holds uncovering back for two."""
UNCOVER_LATEST = time(11, 30)
"""Whatever the thermometer reads: plants cook under covers in the sun. A choice of this site."""
AFTER_LOW = timedelta(hours=1)
_SAID_NO = (Ask.State.DECLINED, Ask.State.PASSED_ON)
_TO_DO = (FrostBed.Action.COVER, FrostBed.Action.BRING_IN, FrostBed.Action.NOT_ENOUGH)


def last_look(night: FrostNight, now: datetime) -> int:
    """An hour before sunset, tell who accepted and the coordinator what is not marked covered."""
    times = times_of(night)
    if not is_running(night) or not times.last_look <= now < times.dusk:
        return 0
    if UNCOVERED in night.said:
        return 0
    open_beds = night.beds.filter(action__in=_TO_DO).exclude(mark=FrostBed.Mark.DONE)
    if not open_beds.exists():
        return 0
    people = _accepters(night)
    people += [lead for lead in leads_of(night.garden_id) if lead not in people]
    told = sum(
        tell(
            night,
            person,
            "frost_uncovered",
            level=Message.Level.DUE,
            now=now,
            expires_at=times.quiet_from,
        )
        for person in people
    )
    mark_said(night, UNCOVERED)
    return told


def update(night: FrostNight, now: datetime) -> int:
    """After dusk, tell that it gets materially colder than people were told.

    Act now goes to people on call who allowed to be woken, once a night, never from old data,
    and only while something can still be done. Who accepted and the coordinator hear of it too
    while it is not quiet.
    """
    if not _is_news(night, times_of(night), now):
        return 0
    with transaction.atomic():
        current = locked_night(night)
        times = times_of(current)
        if not _is_news(current, times, now):
            return 0
        asks = {ask.person_id: ask for ask in current.asks.all()}
        loud = _wake(current, asks, times, now)
        told = len(loud)
        if not is_quiet(now, current.site.time_zone):
            followers = [*_accepters(current), *leads_of(current.garden_id)]
            told += sum(
                tell(
                    current,
                    person,
                    "frost_update",
                    level=Message.Level.DUE,
                    now=now,
                    expires_at=times.low,
                    ask=asks.get(person.pk),
                )
                for person in dict.fromkeys(followers)
                if person not in loud
            )
        if told:
            note_told(current)
    return told


def _is_news(night: FrostNight, times: NightTimes, now: datetime) -> bool:
    if not is_running(night) or night.stale or not times.dusk <= now < times.low:
        return False
    if night.kill_chance < night.kill_ratio or not _is_colder(night, now):
        return False
    beds = [bed for bed in night.beds.all() if bed.action in _TO_DO]
    if any(bed.told_action and bed.told_action != bed.action for bed in beds):
        return True
    done = all(bed.mark == FrostBed.Mark.DONE for bed in beds)
    return not done and chance_when_told(night) < night.kill_ratio


def _is_colder(night: FrostNight, now: datetime) -> bool:
    """Return whether it is materially colder than told; nobody was told: in quiet hours.

    Before 21:00 the ladder tells everybody at once.
    """
    if night.told_c is None:
        return is_quiet(now, night.site.time_zone)
    return night.expected_c <= night.told_c - MATERIALLY_COLDER_C


def chance_when_told(night: FrostNight) -> float:
    """Return the chance of killing that went with the low people were told.

    The limit is the one that the chance of now belongs to, for errors as a normal distribution.
    """
    if night.told_c is None:
        return 0.0
    spread = max(night.sd_c, 0.01)
    normal = NormalDist()
    chance = min(max(night.kill_chance, 1e-6), 1 - 1e-6)
    limit = night.expected_c + spread * normal.inv_cdf(chance)
    return normal.cdf((limit - night.told_c) / spread)


def _wake(
    night: FrostNight, asks: Mapping[int, Ask], times: NightTimes, now: datetime
) -> list[Person]:
    """Tell those on call who allowed it and whose budget is not spent; returns them."""
    turns = [turn for turn in on_call(night.site, night.night) if turn.wakes]
    barred = spent(
        [turn.person_id for turn in turns], Message.Level.ACT_NOW, now, night.site.time_zone
    )
    rung = max((ask.rung for ask in asks.values()), default=0) + 1
    woken = []
    for person in [turn.person for turn in turns if turn.person_id not in barred]:
        ask = asks.get(person.pk)
        if ask is not None and ask.state in _SAID_NO:
            continue
        ask = ask or place_ask(night, person, rung=rung, answer_by=times.low, now=now)
        if ask is not None and tell(
            night,
            person,
            "frost_update",
            level=Message.Level.ACT_NOW,
            now=now,
            expires_at=times.low,
            ask=ask,
            late=night.told_c is None,
        ):
            woken.append(person)
    return woken


def uncover(night: FrostNight, now: datetime) -> int:
    """Next morning, when the air is above 2 C, ask to uncover.

    Where the air is not known, from 09:30 or an hour after the low; where it is known to be
    cold, from 11:30.

    Whoever covered is told; where they are gone, who is on call; where nobody marked anything,
    who had said yes.
    """
    times = times_of(night)
    if not times.uncover_from <= now < times.midday_after:
        return 0
    if UNCOVER in night.said:
        return 0
    reading = newest_air(night, now)
    if now < _uncover_at(night, times, reading):
        return 0
    told = sum(
        tell(
            night,
            person,
            "frost_uncover",
            level=Message.Level.DUE,
            now=now,
            expires_at=times.midday_after,
            reading=reading.pk if reading is not None else None,
        )
        for person in _uncoverers(night)
    )
    if told:
        mark_said(night, UNCOVER)
    return told


def _uncover_at(night: FrostNight, times: NightTimes, reading: AirReading | None) -> datetime:
    """Return from when people are told to uncover, by what is known of the air."""
    latest = wall_time(night.night + timedelta(1), UNCOVER_LATEST, night.site.time_zone)
    if reading is None:
        return min(max(times.uncover_by, times.low + AFTER_LOW), latest)
    return times.uncover_from if reading.air_c > UNCOVER_ABOVE_C else latest


def newest_air(night: FrostNight, now: datetime) -> AirReading | None:
    """Return the site's last reading of the air, while it counts: cold ones count for longer."""
    recent = AirReading.objects.filter(site=night.site_id, at__gt=now - COLD_WITHIN, at__lte=now)
    last = recent.order_by("-at").first()
    if last is None or (last.air_c > UNCOVER_ABOVE_C and last.at <= now - READ_WITHIN):
        return None
    return last


def _uncoverers(night: FrostNight) -> list[Person]:
    beds = list(night.beds.select_related("marked_by"))
    # What a place needs may have changed since: whatever was covered has its cover on.
    covered = [bed for bed in beds if bed.mark == FrostBed.Mark.DONE and bed.uncovered_at is None]
    if covered:
        by = [bed.marked_by for bed in covered if bed.marked_by is not None]
        people = _members_of(night, list(dict.fromkeys(by)))
        people = people or [turn.person for turn in on_call(night.site, night.night)]
        return people or leads_of(night.garden_id)
    unknown = any(bed.action in _TO_DO and bed.mark == FrostBed.Mark.UNKNOWN for bed in beds)
    return _accepters(night) if unknown else []


def ask_outcome(night: FrostNight, now: datetime) -> int:
    """After midday, put the question "What happened?" before those who said yes; page only."""
    times = times_of(night)
    asked_until = times.midday_after + timedelta(days=1)
    if night.outcome_at is not None or not times.midday_after <= now < asked_until:
        return 0
    if OUTCOME in night.said:
        return 0
    told = sum(
        tell(
            night,
            person,
            "frost_what_happened",
            level=Message.Level.NOTE,
            now=now,
            expires_at=times.midday_after + timedelta(days=7),
            channels=(Message.Channel.INBOX,),
        )
        for person in _accepters(night)
    )
    mark_said(night, OUTCOME)
    return told


def _accepters(night: FrostNight) -> list[Person]:
    return [ask.person for ask in accepted(night)]


def _members_of(night: FrostNight, people: list[Person]) -> list[Person]:
    """Return those of these people who still belong to the garden."""
    here = set(
        Membership.objects.filter(
            garden=night.garden_id, person__in=people, person__is_active=True, left_on__isnull=True
        ).values_list("person", flat=True)
    )
    return [person for person in people if person.pk in here]

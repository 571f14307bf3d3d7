"""The weekly message: once a week a person and garden, on the person's own day and hour.

The clock is that of the garden's first site. The key is the ISO week of the site's date, so that
no change of the clocks, of the chosen day or of the ticks makes two of one week.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.db import transaction

from lifecycle.models import Membership, Message, Site
from lifecycle.reminders.clock import next_open_hour, wall_time
from lifecycle.reminders.messages.outbox import put

ABOUT = "week"
CATCH_UP = timedelta(days=1)
"""For so long after its hour a weekly message is still begun, where the ticks stood still."""

KEPT = timedelta(days=3)


@dataclass(frozen=True, slots=True)
class _Due:
    member: Membership
    key: str
    day: date
    zone: str


def digest_all(*, now: datetime) -> int:
    """Write the weekly messages whose hour has come; returns how many people get one."""
    due = list(_due(now))
    keys = [_inbox_key(each) for each in due]
    written = set(Message.objects.filter(key__in=keys).values_list("key", flat=True))
    fresh = [each for each in due if _inbox_key(each) not in written]
    for each in fresh:
        _write(each, now)
    return len(fresh)


def last_hour(day: int, hour: int, zone: str, now: datetime) -> tuple[date, datetime]:
    """Return the last time, up to now, that the clock of ``zone`` showed this hour on this weekday.

    ``day`` is Monday 0 to Sunday 6. Returns the site's date and the instant in UTC.
    """
    today = now.astimezone(ZoneInfo(zone)).date()
    found = today - timedelta((today.weekday() - day) % 7)
    if wall_time(found, time(hour), zone) > now:
        found -= timedelta(7)
    return found, wall_time(found, time(hour), zone)


def _due(now: datetime) -> Iterator[_Due]:
    zones: dict[int, str] = {}
    for garden_id, zone in Site.objects.order_by("-pk").values_list("garden", "time_zone"):
        zones[garden_id] = zone
    members = Membership.objects.filter(
        garden__in=zones, left_on__isnull=True, person__is_active=True
    ).select_related("person", "garden")
    for member in members.order_by("pk"):
        zone, person = zones[member.garden_id], member.person
        day, hour = last_hour(person.digest_day, person.digest_hour, zone, now)
        if now - hour < CATCH_UP and member.joined_on <= day:
            year, week, _ = day.isocalendar()
            key = f"{ABOUT}:{member.garden_id}:{person.pk}:{year}-W{week:02}"
            yield _Due(member, key, day, zone)


def _inbox_key(each: _Due) -> str:
    return f"{each.key}:{Message.Channel.INBOX}"


def _write(each: _Due, now: datetime) -> None:
    not_before = next_open_hour(now, each.zone)
    # All channels or none: the one on the page tells that the week is written.
    with transaction.atomic():
        put(
            each.member.garden,
            each.member.person,
            key=each.key,
            kind=Message.Kind.WEEK,
            level=Message.Level.DUE,
            about=ABOUT,
            data={},
            for_day=each.day,
            not_before=not_before,
            expires_at=not_before + KEPT,
            now=now,
        )

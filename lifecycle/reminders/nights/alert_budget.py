"""How often a person may be interrupted: one place for the rule, over all gardens.

A message interrupts when its level is Act today or Act now and it goes by e-mail or push. A
person gets one a day, and two of Act now within a month. The day is that of the site's own
clock. One message on two channels is one message.
"""

from collections import defaultdict
from collections.abc import Iterable
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.db.models import Case, DateTimeField, Value, When
from django.db.models.functions import Coalesce, Greatest

from lifecycle.models import Message, Person
from lifecycle.reminders.clock import wall_time

INTERRUPTING = (Message.Level.ACT_TODAY, Message.Level.ACT_NOW)
LOUD_CHANNELS = (Message.Channel.EMAIL, Message.Channel.PUSH)
_COUNTED = (Message.State.PENDING, Message.State.SENT)
A_DAY = 1
ACT_NOW_A_MONTH = 2
MONTH = timedelta(days=31)
"""So many days back, so that no calendar month can hold a third."""


def may_interrupt(person: Person, level: str, now: datetime, zone: str) -> bool:
    """Return whether a message of this level may go to the person today.

    ``zone`` is the site's, whose day counts. Levels that do not interrupt always may.
    """
    return person.pk not in spent([person.pk], level, now, zone)


def spent(people: Iterable[int], level: str, now: datetime, zone: str) -> set[int]:
    """Return which of these people may not be interrupted any more today. One query."""
    if level not in INTERRUPTING:
        return set()
    day = now.astimezone(ZoneInfo(zone)).date()
    begins = wall_time(day, time(0), zone)
    ends = wall_time(day + timedelta(1), time(0), zone)
    today: defaultdict[int, set[str]] = defaultdict(set)
    month: defaultdict[int, set[str]] = defaultdict(set)
    rows = (
        Message.objects.filter(
            person__in=set(people),
            level__in=INTERRUPTING,
            channel__in=LOUD_CHANNELS,
            state__in=_COUNTED,
        )
        # What waits since an earlier day and has not expired goes out now.
        .annotate(
            at=Case(
                When(
                    state=Message.State.PENDING,
                    expires_at__gt=now,
                    then=Greatest("not_before", Value(now)),
                ),
                default=Coalesce("sent_at", "not_before"),
                output_field=DateTimeField(),
            )
        )
        .filter(at__gt=now - MONTH, at__lt=ends)
    )
    for person, key, channel, its_level, at in rows.values_list(
        "person", "key", "channel", "level", "at"
    ):
        message = key.removesuffix(f":{channel}")
        if at >= begins:
            today[person].add(message)
        if its_level == Message.Level.ACT_NOW:
            month[person].add(message)
    over = {person for person, messages in today.items() if len(messages) >= A_DAY}
    if level == Message.Level.ACT_NOW:
        over |= {person for person, messages in month.items() if len(messages) >= ACT_NOW_A_MONTH}
    return over

"""Coordinators are told of messages that failed for good: each failure once."""

from collections import defaultdict
from datetime import datetime, timedelta

from django.utils.translation import gettext as _

from lifecycle.models import Garden, Membership, Message, Role
from lifecycle.reminders.messages.composing import Composed, Line, register
from lifecycle.reminders.messages.outbox import put
from lifecycle.reminders.work.task_words import garden_url

ABOUT = "failures"
KEPT = timedelta(days=2)
LISTED = 20
_LEADS = (Role.COORDINATOR, Role.OWNER)


def tell_of_failures(*, now: datetime) -> int:
    """Put a notice of new failures into the outbox, one a garden and day; returns messages."""
    failed: defaultdict[int, set[int]] = defaultdict(set)
    rows = Message.objects.filter(state=Message.State.FAILED).exclude(about=ABOUT)
    for garden, pk in rows.values_list("garden", "pk"):
        failed[garden].add(pk)
    gardens = Garden.objects.filter(pk__in=failed).order_by("pk")
    return sum(_tell(garden, failed[garden.pk], now) for garden in gardens)


def _tell(garden: Garden, failed: set[int], now: datetime) -> int:
    site = garden.sites.order_by("pk").first()
    today = site.local_day(now) if site is not None else now.date()
    notices = Message.objects.filter(garden=garden, about=ABOUT)
    told: set[int] = set()
    for day, data in notices.values_list("for_day", "data"):
        if day == today:
            return 0
        told.update(data["messages"])
    fresh = sorted(failed - told)
    if not fresh:
        return 0
    leads = Membership.objects.filter(garden=garden, left_on__isnull=True, role__in=_LEADS)
    made = 0
    for lead in leads.select_related("person").order_by("pk"):
        made += len(
            put(
                garden,
                lead.person,
                key=f"{ABOUT}:{garden.pk}:{lead.person_id}:{today:%Y-%m-%d}",
                kind=Message.Kind.LEAD,
                level=Message.Level.NOTE,
                about=ABOUT,
                data={"messages": fresh},
                for_day=today,
                not_before=now,
                expires_at=now + KEPT,
                now=now,
            )
        )
    return made


@register(ABOUT)
def failures(message: Message, now: datetime) -> Composed | None:
    """Write what failed and was neither sent again nor dropped since."""
    rows = list(
        Message.objects.filter(
            pk__in=message.data["messages"],
            garden_id=message.garden_id,
            state=Message.State.FAILED,
        )
        .select_related("person")
        .order_by("pk")
    )
    if not rows:
        return None
    garden = message.garden
    if len(rows) == 1:
        subject = _("{garden}: a message did not reach {person}").format(
            garden=garden.name, person=rows[0].person.name
        )
    else:
        subject = _("{garden}: {number} messages did not reach their people").format(
            garden=garden.name, number=len(rows)
        )
    more = len(rows) - LISTED
    url = garden_url(garden, "system")
    return Composed(
        subject=subject,
        lines=(
            Line(_("What they say stands on the page. Ask whether the address is right.")),
            *(Line(_one(each)) for each in rows[:LISTED]),
            *([Line(_("And {number} more.").format(number=more))] if more > 0 else []),
            Line(_("Send again, or drop"), url),
        ),
        short=subject,
        url=url,
    )


def _one(row: Message) -> str:
    return _("{person}, {channel}: {what}. {error}").format(
        person=row.person.name,
        channel=row.get_channel_display(),
        what=row.subject or row.get_kind_display(),
        error=row.last_error,
    )

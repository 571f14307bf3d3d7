"""Holders are told what was found at their beds: one message a person for a day's round."""

from datetime import date, datetime, time, timedelta

from django.utils.translation import gettext as _

from lifecycle.care.wording import short_date
from lifecycle.models import Garden, Inspection, Message, Person
from lifecycle.records.ground.holdings import holders_of
from lifecycle.reminders.clock import wall_time
from lifecycle.reminders.messages.composing import SHORT_LENGTH, Composed, Line, register
from lifecycle.reminders.messages.outbox import put
from lifecycle.reminders.work.task_words import garden_url

ABOUT = "inspected"
EVENING = time(18, 0)
"""When a day's round is told, so that several beds make one message. Common practice, no source."""
KEPT = timedelta(days=7)


def tell_holders(inspection: Inspection, *, now: datetime) -> int:
    """Put the notice into the outbox of everybody who was to be told; returns people told.

    What else is found at their beds on the same day is told with it. A bed found in order
    is told to nobody.
    """
    site = inspection.place.site
    today = site.local_day(now)
    told = list(inspection.told.order_by("pk"))
    for person in told:
        key, data = _next_free(inspection, person.pk, today)
        put(
            inspection.garden,
            person,
            key=key,
            kind=Message.Kind.HANDED,
            level=Message.Level.NOTE,
            about=ABOUT,
            data={**data, "site": site.pk},
            for_day=today,
            not_before=max(now, wall_time(today, EVENING, site.time_zone)),
            expires_at=now + KEPT,
            now=now,
        )
    return len(told)


def _next_free(inspection: Inspection, person: int, today: date) -> tuple[str, dict[str, int]]:
    """Return the key and data of the day's message, or of a new one when that is on its way."""
    key = f"{ABOUT}:{inspection.garden_id}:{today:%Y-%m-%d}:{person}"
    gone = Message.objects.filter(key__startswith=f"{key}:").exclude(
        state=Message.State.PENDING, claim__isnull=True
    )
    if gone.exists():
        return f"{ABOUT}:{inspection.pk}:{person}", {"inspection": inspection.pk}
    return key, {}


@register(ABOUT)
def inspected(message: Message, now: datetime) -> Composed | None:
    """Write what was found and by when to put it right, of the beds that the reader still holds.

    None when all of it is closed or passed on.
    """
    found = _still_held(_found(message), message.person, now)
    if not found:
        return None
    garden = message.garden
    places = ", ".join(dict.fromkeys(str(each.place) for each in found))
    subject = _("{garden}: something to put right, {places}").format(
        garden=garden.name, places=places
    )[:200]
    return Composed(
        subject=subject,
        lines=(
            *(line for each in found for line in _lines(each, garden, message.for_day)),
            Line(_("If you cannot, or if it is a mistake, tell a coordinator.")),
            Line(_("Ask a coordinator"), garden_url(garden, "more#ask")),
        ),
        short=subject[:SHORT_LENGTH],
        url=garden_url(garden, f"beds/{found[0].place_id}"),
    )


def _found(message: Message) -> list[Inspection]:
    rows = Inspection.objects.filter(
        garden=message.garden_id, told=message.person_id, in_order=False, closed_on__isnull=True
    ).select_related("place__site")
    if "inspection" in message.data:
        return list(rows.filter(pk=message.data["inspection"]))
    ordered = rows.order_by("put_right_by", "pk")
    return [each for each in ordered if each.place.site.local_day(each.at) == message.for_day]


def _still_held(found: list[Inspection], reader: Person, now: datetime) -> list[Inspection]:
    """Leave out what is another's by now: the finding is none of their business any more."""
    if not found:
        return []
    held = holders_of([each.place for each in found], found[0].place.site.local_day(now))
    return [each for each in found if reader in held.get(each.place_id, [])]


def _lines(each: Inspection, garden: Garden, day: date) -> tuple[Line, ...]:
    assert each.put_right_by is not None
    return (
        Line(str(each.place), heading=True),
        Line(
            _("Found on {looked}: {finding}").format(
                looked=short_date(each.looked_on, day), finding=each.finding
            )
        ),
        Line(_("Please put it right by {day}.").format(day=short_date(each.put_right_by, day))),
        Line(_("The bed"), garden_url(garden, f"beds/{each.place_id}")),
    )

"""The words of the morning message: what is due, group by group, with window and reason."""

from collections.abc import Sequence
from datetime import datetime

from django.utils.translation import gettext as _

from lifecycle.care.wording import in_units, short_date
from lifecycle.models import Message, MessageItem, Task
from lifecycle.reminders.messages.composing import Composed, Line, register
from lifecycle.reminders.work.task_words import (
    Group,
    garden_url,
    grouped,
    lower_first,
    what,
    what_and_where,
    why_told,
    window_words,
)


@register("due")
def due(message: Message, now: datetime) -> Composed | None:
    """Write what is due and still open; None when everything is done."""
    items = [item for item in message.items.all() if item.task.state == Task.State.OPEN]
    if not items:
        return None
    groups = grouped(item.task for item in items)
    subject = _subject(message, groups)
    day = f"{message.for_day:%A} {short_date(message.for_day)}"
    return Composed(
        subject=subject,
        lines=(
            Line(_("{garden}, {day}").format(garden=message.garden.name, day=day)),
            *(line for group in groups for line in _group_lines(message, group, items)),
            Line(_("You get one such message a day at most.")),
        ),
        short=subject,
        url=garden_url(message.garden, "tasks"),
    )


def _subject(message: Message, groups: Sequence[Group]) -> str:
    """Return a subject that alone tells where, what and by when."""
    first, more = groups[0], len(groups) - 1
    given = {
        "garden": message.garden.name,
        "what": lower_first(what(first)),
        "day": short_date(min(task.latest for task in first), message.for_day),
        "number": more,
    }
    if more:
        return _("{garden}: {what} by {day} and {number} more").format(**given)
    return _("{garden}: {what} by {day}").format(**given)


def _group_lines(message: Message, group: Group, items: Sequence[MessageItem]) -> tuple[Line, ...]:
    task, person, day = group[0], message.person, message.for_day
    of_group = {each.pk for each in group}
    stages = {item.stage for item in items if item.task_id in of_group}
    again = why_told(group, stages, person, day)
    return (
        Line(what_and_where(group), heading=True),
        *([Line(again)] if again else []),
        Line(window_words(task, person, day)),
        Line(in_units(task.reason, person.temperature, person.length, day)),
        Line(_("What to do, and Done"), garden_url(message.garden, f"tasks/{task.pk}")),
    )

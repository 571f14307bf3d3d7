"""The words of an offer: what nobody got to in a bed where the reader holds plants too."""

from datetime import datetime

from django.utils.translation import gettext as _

from lifecycle.care.wording import in_units, short_date
from lifecycle.models import Message, Task
from lifecycle.records.work.minding import minder_of
from lifecycle.reminders.messages.composing import SHORT_LENGTH, Composed, Line, register
from lifecycle.reminders.work.task_words import Group, garden_url, grouped, what, what_and_where


@register("offered")
def offered(message: Message, now: datetime) -> Composed | None:
    """Write what is still to be had; None when all of it is done or taken."""
    minders = message.data["minders"]
    groups = grouped(item.task for item in message.items.all() if _is_to_be_had(item.task, minders))
    if not groups:
        return None
    number = sum(len(group) for group in groups)
    given = {"garden": message.garden.name, "what": what(groups[0]), "number": number}
    subject = (
        _("{garden}: would you take this on? {what}")
        if len(groups) == 1
        else _("{garden}: would you take on one of {number} tasks?")
    ).format(**given)
    return Composed(
        subject=subject,
        lines=(
            Line(_("Nobody got to this yet. You hold plants in the same place, so you are asked.")),
            *(line for group in groups for line in _group_lines(message, group)),
            Line(_("You are asked once. If you cannot, leave it: the coordinators see it next.")),
        ),
        short=subject[:SHORT_LENGTH],
        url=garden_url(message.garden, f"tasks/{groups[0][0].pk}"),
    )


def _is_to_be_had(task: Task, minders: dict[str, int | None]) -> bool:
    """Whether a task is open and still with whoever did not get to it."""
    return task.state == Task.State.OPEN and minder_of(task) == minders.get(str(task.pk))


def _group_lines(message: Message, group: Group) -> tuple[Line, ...]:
    task, person, day = group[0], message.person, message.for_day
    return (
        Line(what_and_where(group), heading=True),
        Line(_("It was due by {day}.").format(day=short_date(task.latest, day))),
        Line(in_units(task.reason, person.temperature, person.length, day)),
        Line(_("Look at it, or take it"), garden_url(message.garden, f"tasks/{task.pk}")),
    )

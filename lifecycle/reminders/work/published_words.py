"""The words of a published week: what the reader is given, by day, and what went to others."""

from collections.abc import Iterator
from datetime import date, datetime

from django.utils.translation import gettext as _

from lifecycle.care.wording import in_units, short_date
from lifecycle.models import Message, PublishedTask, Task
from lifecycle.records.work.minding import RELATED, minder_of
from lifecycle.reminders.messages.composing import SHORT_LENGTH, Composed, Line, register
from lifecycle.reminders.work.publishing import ABOUT
from lifecycle.reminders.work.task_words import (
    Group,
    by_words,
    cautions_of,
    garden_url,
    grouped,
    lower_first,
    time_words,
    what,
    what_and_where,
)

LISTED = 60
"""Groups of tasks that one message lists."""


@register(ABOUT)
def published(message: Message, now: datetime) -> Composed | None:
    """Write what is still to be done; None when all of it was done or went elsewhere."""
    given, gone = _news(message)
    if not given and not gone:
        return None
    subject = _subject(message, given)
    return Composed(
        subject=subject,
        lines=(
            *_given(message, given),
            *_gone(gone),
            *_cautions(given),
            Line(_("All your tasks"), garden_url(message.garden, "tasks")),
            Line(
                _("If something does not suit you, say so on its page: then it goes to others.")
                if given
                else _("There is nothing for you to do about this.")
            ),
        ),
        short=subject[:SHORT_LENGTH],
        url=garden_url(message.garden, "tasks"),
    )


def _news(message: Message) -> tuple[list[Task], list[Task]]:
    """Return what the reader is given and what went from them, all publishings taken together.

    What was theirs before the first of them and is again is no news, nor what came and went.
    """
    rows = (
        PublishedTask.objects.filter(
            publication__in=message.data["publications"],
            publication__garden=message.garden_id,
            task__state=Task.State.OPEN,
        )
        .select_related(*(f"task__{name}" for name in RELATED))
        .order_by("task__latest", "task_id", "publication_id")
    )
    reader = message.person_id
    first: dict[int, PublishedTask] = {}
    handed = set()
    for row in rows:
        first.setdefault(row.task_id, row)
        if row.to_id == reader:
            handed.add(row.task_id)
    fresh = [row.task for row in first.values() if row.was_id != reader]
    had = [row.task for row in first.values() if row.was_id == reader]
    given = [task for task in fresh if task.pk in handed and minder_of(task) == reader]
    return given, [task for task in had if minder_of(task) != reader]


def _subject(message: Message, given: list[Task]) -> str:
    """Return a subject that alone tells where, what and by when."""
    groups = grouped(given)
    words = {"garden": message.garden.name, "number": len(groups)}
    if not groups:
        return _("{garden}: some of your work went to others").format(**words)
    words |= {
        "what": lower_first(what(groups[0])),
        "by": by_words(groups[0], message.for_day),
        "more": len(groups) - 1,
    }
    if len(groups) == 1:
        return _("{garden}: your work this week: {what} {by}").format(**words)
    return _("{garden}: your work this week: {what} {by}, and {more} more").format(**words)


def _given(message: Message, tasks: list[Task]) -> Iterator[Line]:
    """Write what is given under the day from which it can be done."""
    today = message.for_day
    by_day: dict[date, list[Task]] = {}
    for task in tasks:
        by_day.setdefault(max(task.earliest, today), []).append(task)
    room, left_out = LISTED, 0
    for day, some in sorted(by_day.items()):
        groups = grouped(some)
        shown, room = groups[:room], max(room - len(groups), 0)
        left_out += sum(len(group) for group in groups[len(shown) :])
        if shown:
            heading = _("From now on") if day == today else f"{day:%A} {short_date(day, day)}"
            yield Line(heading, heading=True)
        for group in shown:
            yield from _group(message, group)
    if left_out:
        yield Line(_("And {number} more, on the page.").format(number=left_out))


def _group(message: Message, group: Group) -> Iterator[Line]:
    task, person, day = group[0], message.person, message.for_day
    late = min(each.latest for each in group) < day
    words = _("{what}: was due {by}.") if late else _("{what}: {by}.")
    at = time_words(task)
    by = by_words(group, day)
    yield Line(words.format(what=what_and_where(group), by=f"{by}, {at}" if at else by))
    why = in_units(task.reason, person.temperature, person.length, day)
    # The first sentence is enough here: the rest stands on its page.
    yield Line(f"{why.split('. ', maxsplit=1)[0].rstrip('.')}.")
    yield Line(_("What to do, and Done"), garden_url(message.garden, f"tasks/{task.pk}"))


def _gone(tasks: list[Task]) -> Iterator[Line]:
    if tasks:
        yield Line(_("Not yours any more"), heading=True)
    for group in grouped(tasks)[:LISTED]:
        yield Line(f"{what_and_where(group)}.")


def _cautions(tasks: list[Task]) -> Iterator[Line]:
    """Write what can hurt in all of it, each once."""
    found = dict.fromkeys(text for task in tasks for text in cautions_of(task))
    if found:
        yield Line(_("Take care"), heading=True)
    for text in found:
        yield Line(text)

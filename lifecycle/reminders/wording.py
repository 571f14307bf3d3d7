"""The words of a message: complete in itself, in the reader's units."""

from collections.abc import Sequence

from django.conf import settings

from lifecycle.care.catalogue import STEP_RULES
from lifecycle.care.wording import in_units, short_date
from lifecycle.models import Message, Plant, Sowing, Task


def subject_line(message: Message, tasks: Sequence[Task]) -> str:
    """Return a subject that alone tells where, what and by when."""
    groups = _grouped(tasks)
    first = groups[0]
    what = _what(first)
    more = len(groups) - 1
    by = short_date(min(task.latest for task in first), message.for_day)
    tail = f" and {more} more" if more else ""
    return f"{message.garden.name}: {what[0].lower()}{what[1:]} by {by}{tail}"[:200]


def body(message: Message, tasks: Sequence[Task]) -> str:
    """Return the text: each group of tasks with its window, reason and address."""
    person = message.person
    lines = [f"{message.garden.name}, {message.for_day:%A} {short_date(message.for_day)}", ""]
    for group in _grouped(tasks):
        task = group[0]
        lines.append(f"{_what(group)}{_where(group)}")
        lines.append(
            f"  Between {short_date(task.earliest, message.for_day)} and "
            f"{short_date(task.latest, message.for_day)}, best "
            f"{short_date(task.best, message.for_day)}."
        )
        lines.append(
            f"  {in_units(task.reason, person.temperature, person.length, message.for_day)}"
        )
        lines.append(f"  {settings.SITE_URL}/g/{message.garden.slug}/tasks/{task.pk}")
        lines.append("")
    lines.append(f"You get one message a day at most. Change this at {settings.SITE_URL}/settings")
    if message.garden.invented:
        lines.append("This is an invented demonstration garden.")
    return "\n".join(lines)


def _grouped(tasks: Sequence[Task]) -> list[list[Task]]:
    groups: dict[tuple[str, int | None], list[Task]] = {}
    for task in sorted(tasks, key=lambda task: (task.latest, task.kind, task.pk)):
        groups.setdefault((task.kind, _record(task).place_id), []).append(task)
    return list(groups.values())


def _record(task: Task) -> Plant | Sowing:
    record = task.plant or task.sowing
    assert record is not None
    return record


def _what(group: Sequence[Task]) -> str:
    label = STEP_RULES[group[0].kind].label
    if len(group) == 1:
        return f"{label}: {_record(group[0])}"
    return f"{label}: {len(group)} plants"


def _where(group: Sequence[Task]) -> str:
    place = _record(group[0]).place
    names = f" ({', '.join(str(_record(task)) for task in group)})" if len(group) > 1 else ""
    return f", {place}{names}" if place else names

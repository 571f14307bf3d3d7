"""Tasks in the words of a message: what is to be done where, its window, and why it is told.

Every task gets its words here, whether it is a step of a plant or sowing, or a chore.
"""

from collections.abc import Collection, Iterable, Sequence
from datetime import date

from django.conf import settings
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from lifecycle.care.catalogue import STEP_RULES
from lifecycle.care.chores import cautions_of as chore_cautions
from lifecycle.care.closing_windows import closing_low_of
from lifecycle.care.wording import degrees, in_units, short_date
from lifecycle.handbook import CAUTIONS
from lifecycle.models import Garden, MessageItem, Person, Task
from lifecycle.records.work.minding import record_of, where_of

__all__ = [
    "Group",
    "by_words",
    "cautions_of",
    "garden_url",
    "grouped",
    "label_of",
    "lower_first",
    "record_of",
    "subject_of",
    "task_name",
    "time_words",
    "what",
    "what_and_where",
    "where_of",
    "why_told",
    "window_words",
]

Group = Sequence[Task]
"""Open tasks of one kind, or of one chore, in one place, the most pressing first."""


def garden_url(garden: Garden, path: str) -> str:
    """Return the address of a garden's page, as a message gives it."""
    return f"{settings.SITE_URL}/g/{garden.slug}/{path}"


def label_of(task: Task) -> str:
    """Return what is to be done: the step's label, or the chore's title."""
    return task.chore.title if task.chore is not None else STEP_RULES[task.kind].label


def subject_of(task: Task) -> str:
    """Return the plant or sowing that a task is about; "" for a chore of a bed or a site."""
    record = record_of(task)
    if record is None:
        record = task.chore.plant if task.chore is not None else None
    return "" if record is None else str(record)


def task_name(task: Task) -> str:
    """Return a task in one line: "Lift: Cayenne by the gate", "Turn the compost"."""
    subject = subject_of(task)
    label = label_of(task)
    return _("{step}: {plant}").format(step=label, plant=subject) if subject else label


def time_words(task: Task) -> str:
    """Return at what time of the day a chore is to be done: "at 10:00"; "" for any time."""
    at_time = task.chore.at_time if task.chore is not None else None
    return "" if at_time is None else _("at {time}").format(time=f"{at_time:%H:%M}")


def cautions_of(task: Task) -> list[str]:
    """Return what can hurt when a task is done."""
    if task.chore is not None:
        keys = chore_cautions(task.chore.starter, task.chore.skill)
    else:
        keys = STEP_RULES[task.kind].cautions
    return [CAUTIONS[key] for key in keys]


def grouped(tasks: Iterable[Task]) -> list[Group]:
    """Group tasks by kind or chore and by place, each task once, the most pressing group first."""
    groups: dict[tuple[str, int | None, int | None], dict[int, Task]] = {}
    for task in sorted(tasks, key=lambda task: (task.latest, task.kind, task.pk)):
        place = where_of(task)
        key = (task.kind, task.chore_id, place.pk if place else None)
        groups.setdefault(key, {})[task.pk] = task
    return [list(group.values()) for group in groups.values()]


def what(group: Group) -> str:
    """Return what a group asks for: "Lift: Cayenne by the gate", "Lift: 3 plants"."""
    first = group[0]
    if len(group) == 1:
        return task_name(first)
    if first.chore is not None:
        times = ngettext("{step}: {number} time", "{step}: {number} times", len(group))
        return times.format(step=task_name(first), number=len(group))
    return _("{step}: {number} plants").format(step=label_of(first), number=len(group))


def by_words(group: Group, around: date) -> str:
    """Return by when a group is to be done: "by 27 November, the last by 8 December"."""
    first, last = min(task.latest for task in group), max(task.latest for task in group)
    by = _("by {day}").format(day=short_date(first, around))
    if first == last:
        return by
    return _("{by}, the last by {day}").format(by=by, day=short_date(last, around))


def what_and_where(group: Group) -> str:
    """Return what a group asks for, with its place and the names of its plants."""
    place = where_of(group[0])
    several = len(group) > 1 and group[0].chore_id is None
    names = ", ".join(subject_of(task) for task in group) if several else ""
    if place is None:
        return f"{what(group)} ({names})" if names else what(group)
    if not names:
        return _("{what}, {place}").format(what=what(group), place=place)
    return _("{what}, {place} ({names})").format(what=what(group), place=place, names=names)


def lower_first(text: str) -> str:
    """Return the text with a small first letter, to stand after a colon."""
    return f"{text[:1].lower()}{text[1:]}"


def window_words(task: Task, person: Person, around: date) -> str:
    """Return a task's window, with the night that would close it early where one can."""
    given = {
        "earliest": short_date(task.earliest, around),
        "latest": short_date(task.latest, around),
        "best": short_date(task.best, around),
    }
    record = record_of(task)
    if record is None:
        return _chore_window(task, given)
    low_c = closing_low_of(task.kind, record.variety.species)
    if low_c is None:
        return _("Between {earliest} and {latest}, best {best}.").format(**given)
    return _(
        "Between {earliest} and {latest}, before the first night of {limit} or colder, best {best}."
    ).format(**given, limit=degrees(low_c, person.temperature))


def _chore_window(task: Task, given: dict[str, str]) -> str:
    given["at"] = time_words(task)
    if given["at"]:
        if task.earliest == task.latest:
            return _("On {best} {at}.").format(**given)
        return _("On {best} {at}, by {latest}.").format(**given)
    if task.earliest == task.latest:
        return _("On {best}.").format(**given)
    return _("Between {earliest} and {latest}, best {best}.").format(**given)


def why_told(group: Group, stages: Collection[str], person: Person, day: date) -> str:
    """Return why a group is told again: the forecast closes its window, or its days end.

    ``stages`` are those at which its tasks are told; "" when it has only just opened.
    """
    promoted = [task for task in group if task.promoted_on]
    if promoted:
        why = in_units(promoted[0].promoted_why, person.temperature, person.length, day)
        return _("The forecast closes this window: {why}").format(why=why)
    if MessageItem.Stage.LATE not in stages:
        return ""
    last = min(task.latest for task in group)
    if last == day:
        return _("Today is the last day.")
    return _("Its last day was {day}.").format(day=short_date(last, day))

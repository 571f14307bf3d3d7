"""Tasks in the words of a message: what is to be done where, its window, and why it is told."""

from collections.abc import Collection, Iterable, Sequence
from datetime import date

from django.conf import settings
from django.utils.translation import gettext as _

from lifecycle.care.catalogue import STEP_RULES
from lifecycle.care.closing_windows import closing_low_of
from lifecycle.care.wording import degrees, in_units, short_date
from lifecycle.models import Garden, MessageItem, Person, Plant, Sowing, Task

Group = Sequence[Task]
"""Open tasks of one kind in one place, the most pressing first."""


def garden_url(garden: Garden, path: str) -> str:
    """Return the address of a garden's page, as a message gives it."""
    return f"{settings.SITE_URL}/g/{garden.slug}/{path}"


def record_of(task: Task) -> Plant | Sowing:
    """Return the plant or sowing a task is for."""
    record = task.plant or task.sowing
    assert record is not None
    return record


def grouped(tasks: Iterable[Task]) -> list[Group]:
    """Group tasks by kind and place, each task once, the most pressing group first."""
    groups: dict[tuple[str, int | None], dict[int, Task]] = {}
    for task in sorted(tasks, key=lambda task: (task.latest, task.kind, task.pk)):
        groups.setdefault((task.kind, record_of(task).place_id), {})[task.pk] = task
    return [list(group.values()) for group in groups.values()]


def what(group: Group) -> str:
    """Return what a group asks for: "Lift: Cayenne by the gate", "Lift: 3 plants"."""
    label = STEP_RULES[group[0].kind].label
    if len(group) == 1:
        return _("{step}: {plant}").format(step=label, plant=record_of(group[0]))
    return _("{step}: {number} plants").format(step=label, number=len(group))


def what_and_where(group: Group) -> str:
    """Return what a group asks for, with its place and the names of its plants."""
    place = record_of(group[0]).place
    names = ", ".join(str(record_of(task)) for task in group) if len(group) > 1 else ""
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
    low_c = closing_low_of(task.kind, record_of(task).variety.species)
    if low_c is None:
        return _("Between {earliest} and {latest}, best {best}.").format(**given)
    return _(
        "Between {earliest} and {latest}, before the first night of {limit} or colder, best {best}."
    ).format(**given, limit=degrees(low_c, person.temperature))


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

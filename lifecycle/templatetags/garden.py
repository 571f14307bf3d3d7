"""Numbers, dates and record words as the reader reads them."""

from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from django import template

from lifecycle.care.catalogue import STEP_RULES
from lifecycle.care.steps import Step
from lifecycle.care.wording import degrees, in_units
from lifecycle.models import Entry, Person, Place, Site, Task
from lifecycle.reminders.work import task_words
from lifecycle.web import words
from lifecycle.web.crops import why
from lifecycle.web.work.groups import TaskGroup

register = template.Library()


@register.simple_tag(takes_context=True)
def reason(context: dict[str, Any], text: str) -> str:
    """Write out a reason's numbers in the reader's units."""
    person = context["user"]
    return in_units(text, person.temperature, person.length, context.get("today"))


@register.filter
def warmth(value_c: float, person: Person) -> str:
    """A temperature in the reader's unit."""
    return degrees(value_c, person.temperature)


@register.filter
def day(value: date, today: date | None = None) -> str:
    """A date with its month as a word; the year only where it is not this one."""
    return words.day_words(value, today)


@register.filter
def ago(value: date, today: date) -> str:
    """How long ago, in words."""
    return words.ago(value, today)


@register.filter
def clock(value: datetime, site: Site) -> str:
    """The time of day on the site's own clock."""
    return f"{value.astimezone(ZoneInfo(site.time_zone)):%H:%M}"


@register.filter
def local_day(value: datetime, site: Site) -> date:
    """The site's own date at an instant."""
    return site.local_day(value)


@register.filter
def phase(value: str) -> str:
    """The word for a phase."""
    return words.phase_words(value)


@register.filter
def step(kind: str) -> str:
    """What a step is called."""
    return STEP_RULES[kind].label


@register.filter
def task_label(task: Task) -> str:
    """What is to be done, without the plant."""
    return task_words.label_of(task)


@register.filter
def by_tap(task: Task) -> bool:
    """Whether a task is done by a tap alone."""
    return task.kind == Task.CHORE or STEP_RULES[task.kind].one_tap


@register.filter
def task_name(task: Task) -> str:
    """A task in one line: what is to be done, and to which plant."""
    return task_words.task_name(task)


@register.filter
def named(place: Place, names: dict[int, str]) -> str:
    """A place by its name among others: with its site where two share the name."""
    return names.get(place.pk, place.name)


@register.filter
def task_time(task: Task) -> str:
    """At what time of the day a task is to be done: "at 10:00"; "" for any time."""
    return task_words.time_words(task)


@register.simple_tag(takes_context=True)
def group_url(context: dict[str, Any], group: TaskGroup) -> str:
    """The page of a group of tasks, or of its only task."""
    return group.address(context["garden"].slug)


@register.filter
def label(entry: Entry) -> str:
    """What an entry is called."""
    return words.label_of(entry)


@register.filter
def detail(entry: Entry, person: Person) -> str:
    """An entry's choice and quantity in the reader's units, in one line."""
    parts = [words.choice_of(entry), words.quantity_of(entry, person), words.material_of(entry)]
    parts += [str(named) for named in (entry.variety, entry.place) if named]
    if entry.other is not None:
        parts.append(f"with {entry.other} ({entry.other.code})")
    if entry.holder is not None:
        parts.append(
            f"to {entry.holder}" if entry.kind == "handed_over" else f"held by {entry.holder}"
        )
    return "; ".join(part for part in parts if part)


@register.filter
def plain_choice(task: Task) -> str:
    """What a plain Done records where the entry takes a choice."""
    return "" if task.kind == Task.CHORE else STEP_RULES[task.kind].choice


@register.simple_tag
def entry_words(kind: str, happened_on: date, today: date) -> str:
    """The last entry of a record in words."""
    return words.entry_words(kind, happened_on, today)


@register.simple_tag
def due_words(best: date, latest: date, today: date) -> str:
    """When something is due, in words."""
    return words.due_words(best, latest, today)


@register.simple_tag(takes_context=True)
def why_url(context: dict[str, Any], step: Step | Task) -> str:
    """The address that says why a step of the page's record stands where it does."""
    record = context.get("record") or context.get("plant") or context["sowing"]
    return why.why_url(record, context["garden"].slug, step)

"""Tasks of one kind, or of one chore, in one place, shown and done as one group.

One query counts the groups, however many tasks there are.
"""

from dataclasses import dataclass
from datetime import date
from typing import Any
from urllib.parse import urlencode

from django.db.models import Case, Count, IntegerField, Max, Min, Q, QuerySet, Value, When
from django.db.models.functions import Coalesce
from django.urls import reverse

from lifecycle.care.catalogue import STEP_RULES
from lifecycle.models import Membership, Place, Task
from lifecycle.records.work.minding import MINDER, RELATED, WHERE
from lifecycle.web.door import rows
from lifecycle.web.ground.place_names import place_words
from lifecycle.web.words import counted, due_words

MINE, NOBODY, OTHERS = 1, 0, 2


@dataclass(frozen=True, slots=True)
class TaskGroup:
    """Open tasks of one kind in one place; ``chore_id``: of one chore; ``ready``: due by today."""

    kind: str
    place_id: int | None
    place: str
    number: int
    what: str
    due: str
    earliest: date
    first: int
    one_tap: bool
    whose: int
    ready: int
    chore_id: int | None = None

    @property
    def single(self) -> bool:
        """Whether the group is one task, which has a page of its own."""
        return self.number == 1

    @property
    def done_words(self) -> str:
        """What the button that does the group does: those that are due, when not all are."""
        return "Done" if self.ready == self.number else f"Done for the {self.ready} due"

    def address(self, slug: str) -> str:
        """Return the page of the group, or of its only task."""
        if self.single:
            return reverse("task", args=[slug, self.first])
        parts = {"kind": self.kind, "chore": self.chore_id, "place": self.place_id}
        given = {name: value for name, value in parts.items() if value is not None}
        return f"{reverse('tasks', args=[slug])}?{urlencode({**given, 'whose': self.whose})}"


def minded(member: Membership) -> QuerySet[Any]:
    """Return the garden's open tasks with who is to do each: ``whose`` and its place.

    The assignee goes first, then the holder. A person who left minds nothing.
    """
    return with_whose(member, rows(Task, member).filter(state=Task.State.OPEN))


def with_whose(member: Membership, tasks: QuerySet[Task]) -> QuerySet[Any]:
    """Add to tasks who minds each, whether that is the reader, and its place."""
    members = Membership.objects.filter(garden_id=member.garden_id, left_on__isnull=True)
    return tasks.annotate(minder=MINDER, where=WHERE).annotate(
        whose=Case(
            When(minder=member.person_id, then=Value(MINE)),
            When(minder__in=members.values("person_id"), then=Value(OTHERS)),
            default=Value(NOBODY),
            output_field=IntegerField(),
        )
    )


def grouped(tasks: QuerySet[Any], today: date) -> list[TaskGroup]:
    """Count tasks by kind or chore and by place, the most pressing group first.

    At most three queries, however many tasks and places there are.
    """
    counted_rows = list(
        tasks.annotate(
            name=Coalesce("plant__name", "sowing__variety__name", "chore__plant__name"),
        )
        .values("kind", "chore", "chore__title", "chore__at_time", "where", "whose")
        .annotate(
            number=Count("pk"),
            ready=Count("pk", filter=Q(earliest__lte=today)),
            opens=Min("earliest"),
            best_day=Min("best"),
            closes=Min("latest"),
            first=Min("pk"),
            one_name=Max("name"),
            promoted=Max("promoted_on"),
        )
        .order_by("closes", "best_day", "kind", "first")
    )
    wanted = {row["where"] for row in counted_rows if row["where"] is not None}
    places = place_words(Place.objects.filter(pk__in=wanted)) if wanted else {}
    return [_group(dict(row), places.get(row["where"], ""), today) for row in counted_rows]


def _group(row: dict[str, Any], place: str, today: date) -> TaskGroup:
    is_chore = row["chore"] is not None
    due = f"{_which_words(row)}{due_words(row['best_day'], row['closes'], today)}"
    return TaskGroup(
        kind=row["kind"],
        place_id=row["where"],
        place=place,
        number=row["number"],
        what=_chore_words(row) if is_chore else _step_words(row),
        due=f"{due}; the forecast closes this window" if row["promoted"] else due,
        ready=row["ready"],
        earliest=row["opens"],
        first=row["first"],
        one_tap=is_chore or STEP_RULES[row["kind"]].one_tap,
        whose=row["whose"],
        chore_id=row["chore"],
    )


def _which_words(row: dict[str, Any]) -> str:
    """Return which of several the days are of, and at what time of the day it is to be done."""
    number, at_time = row["number"], row["chore__at_time"]
    said = ""
    if row["chore"] is not None and number > 1:
        said = f"next of {number}: "
    elif 0 < row["ready"] < number:
        said = f"{row['ready']} of {number} due: "
    return said if at_time is None else f"{said}at {at_time:%H:%M}, "


def _step_words(row: dict[str, Any]) -> str:
    name = row["one_name"] if row["number"] == 1 else counted(row["number"], "plant")
    return f"{STEP_RULES[row['kind']].label}: {name}"


def _chore_words(row: dict[str, Any]) -> str:
    title = row["chore__title"]
    named = f"{title}: {row['one_name']}" if row["one_name"] else title
    return named if row["number"] == 1 else f"{named}, {counted(row['number'], 'time')}"


@dataclass(frozen=True, slots=True)
class Which:
    """What tells one group from another. ``whose`` None: whosoever they are."""

    kind: str
    place: int | None
    whose: int | None = None
    chore: int | None = None

    def of(self, tasks: QuerySet[Any]) -> QuerySet[Any]:
        """Narrow tasks with ``whose`` and ``where`` to this group."""
        wanted = Q(kind=self.kind, chore=self.chore)
        wanted &= Q(where__isnull=True) if self.place is None else Q(where=self.place)
        if self.whose is not None:
            wanted &= Q(whose=self.whose)
        return tasks.filter(wanted)


def in_group(member: Membership, which: Which) -> QuerySet[Task]:
    """Return the open tasks of one group, with their records."""
    found = which.of(minded(member)).select_related(*RELATED)
    return found.order_by("latest", "plant__name", "pk")

"""Tasks of one kind in one place, shown and done as one group.

One query counts the groups, however many tasks there are.
"""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import UUID

from django.db.models import Case, Count, IntegerField, Max, Min, Q, QuerySet, Value, When
from django.db.models.functions import Coalesce

from lifecycle.care.catalogue import STEP_RULES
from lifecycle.models import Membership, Task
from lifecycle.records.drafts import Draft
from lifecycle.records.entries import Logged, log_for_several
from lifecycle.web.buttons import act_id
from lifecycle.web.door import after_write, rows
from lifecycle.web.records import Record
from lifecycle.web.words import counted, due_words

MINE, NOBODY, OTHERS = 1, 0, 2


@dataclass(frozen=True, slots=True)
class TaskGroup:
    """Open tasks of one kind in one place."""

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

    @property
    def single(self) -> bool:
        """Whether the group is one task, which has a page of its own."""
        return self.number == 1


def minded(member: Membership) -> QuerySet[Any]:
    """Return the garden's open tasks with who is to do each: ``whose`` and its place.

    The assignee goes first, then the holder. A person who left minds nothing.
    """
    members = Membership.objects.filter(garden_id=member.garden_id, left_on__isnull=True)
    return (
        rows(Task, member)
        .filter(state=Task.State.OPEN)
        .annotate(
            minder=Coalesce("assignee_id", "plant__holder_id", "sowing__holder_id"),
            where=Coalesce("plant__place_id", "sowing__place_id"),
        )
        .annotate(
            whose=Case(
                When(minder=member.person_id, then=Value(MINE)),
                When(minder__in=members.values("person_id"), then=Value(OTHERS)),
                default=Value(NOBODY),
                output_field=IntegerField(),
            )
        )
    )


def grouped(tasks: QuerySet[Any], today: date) -> list[TaskGroup]:
    """Count tasks by kind and place, the most pressing group first."""
    counted_rows = (
        tasks.annotate(
            name=Coalesce("plant__name", "sowing__variety__name"),
            place_name=Coalesce("plant__place__name", "sowing__place__name"),
        )
        .values("kind", "where", "place_name", "whose")
        .annotate(
            number=Count("pk"),
            opens=Min("earliest"),
            best_day=Min("best"),
            closes=Min("latest"),
            first=Min("pk"),
            one_name=Max("name"),
            promoted=Max("promoted_on"),
        )
        .order_by("closes", "best_day", "kind", "first")
    )
    return [_group(dict(row), today) for row in counted_rows]


def _group(row: dict[str, Any], today: date) -> TaskGroup:
    rule = STEP_RULES[row["kind"]]
    number = row["number"]
    name = row["one_name"] if number == 1 else counted(number, "plant")
    due = due_words(row["best_day"], row["closes"], today)
    return TaskGroup(
        kind=row["kind"],
        place_id=row["where"],
        place=row["place_name"] or "",
        number=number,
        what=f"{rule.label}: {name}",
        due=f"{due}; the forecast closes this window" if row["promoted"] else due,
        earliest=row["opens"],
        first=row["first"],
        one_tap=rule.one_tap,
        whose=row["whose"],
    )


def in_group(member: Membership, kind: str, place: int | None, whose: int | None) -> QuerySet[Task]:
    """Return the open tasks of one group, with their records."""
    wanted = Q(kind=kind)
    wanted &= Q(where__isnull=True) if place is None else Q(where=place)
    if whose is not None:
        wanted &= Q(whose=whose)
    return (
        minded(member)
        .filter(wanted)
        .select_related("plant__variety", "plant__place", "sowing__variety", "sowing__place")
        .order_by("latest", "plant__name", "pk")
    )


def do_group(
    member: Membership, tasks: list[Task], form_id: UUID, today: date, now: datetime
) -> list[Logged]:
    """Log what does these tasks, for all of them or for none. Raises Refused."""
    drafts: list[tuple[Record, Draft]] = []
    for task in tasks:
        record = task.plant or task.sowing
        assert record is not None
        rule = STEP_RULES[task.kind]
        entry_id = act_id(form_id, record.code, rule.done_by)
        drafts.append((record, Draft(rule.done_by, today, entry_id, choice=rule.choice)))
    logged = log_for_several(member, drafts, now=now)
    after_write([record for record, _ in drafts], now)
    return logged

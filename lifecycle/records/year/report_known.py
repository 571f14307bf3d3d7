"""What the record knew at an instant: entries and strikes, gifts, hours and ends of tasks.

All of it is added and never changed, so that the same instant gives the same answer for ever.
"""

from dataclasses import dataclass
from datetime import datetime

from django.db.models import Exists, OuterRef, Q, QuerySet

from lifecycle.models import Entry, GivenAway, Strike, TaskEvent, WorkHours
from lifecycle.records.year.report_years import Span

_ENDING = (
    *(TaskEvent.Act.DONE, TaskEvent.Act.CANNOT, TaskEvent.Act.WITHDRAWN),
    TaskEvent.Act.REOPENED,
)


@dataclass(frozen=True, slots=True)
class TaskEnd:
    """How a task ended and who did it; ``by`` None: the plan."""

    task: int
    act: str
    by: int | None
    chore: bool


@dataclass(frozen=True, slots=True)
class Known:
    """What one garden's record knew at ``as_of`` of the days of a year."""

    garden: int
    span: Span
    as_of: datetime

    def entries(self) -> QuerySet[Entry]:
        """Return the entries dated in these days, without those struck by then."""
        struck = Strike.objects.filter(entry=OuterRef("pk"), at__lte=self.as_of)
        return Entry.objects.filter(
            ~Exists(struck),
            garden=self.garden,
            received_at__lte=self.as_of,
            happened_on__range=(self.span.first, self.span.last),
        )

    def given(self) -> QuerySet[GivenAway]:
        """Return what was given away in these days, without what was struck by then."""
        rows = GivenAway.objects.filter(
            self._stands(), garden=self.garden, given_on__range=(self.span.first, self.span.last)
        )
        return rows.order_by("given_on", "pk")

    def hours(self) -> QuerySet[WorkHours]:
        """Return the hours of these days, without those struck by then."""
        return WorkHours.objects.filter(
            self._stands(), garden=self.garden, worked_on__range=(self.span.first, self.span.last)
        ).order_by()

    def task_ends(self) -> list[TaskEnd]:
        """Return the tasks that ended in these days and were not open again by ``as_of``."""
        events = TaskEvent.objects.filter(
            garden=self.garden, act__in=_ENDING, at__gte=self.span.start, at__lte=self.as_of
        ).order_by("at", "pk")
        last: dict[int, tuple[datetime, TaskEnd]] = {}
        for task, act, at, by, chore in events.values_list(
            "task_id", "act", "at", "by_id", "task__chore_id"
        ):
            last[task] = (at, TaskEnd(task, act, by, chore is not None))
        found = [
            end
            for at, end in last.values()
            if end.act != TaskEvent.Act.REOPENED and at < self.span.end
        ]
        return sorted(found, key=lambda end: end.task)

    def _stands(self) -> Q:
        return Q(at__lte=self.as_of) & (Q(struck_at__isnull=True) | Q(struck_at__gt=self.as_of))

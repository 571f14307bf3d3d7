"""Who of a garden can be told something, on which channels, and who minds a task."""

from dataclasses import dataclass
from typing import Any

from django.db.models import Q, QuerySet

from lifecycle.models import Garden, Membership, Person, Site, Task
from lifecycle.records.messages.message_choices import people_by_channel
from lifecycle.records.nights.rota import LEADING_ROLES
from lifecycle.records.work.minding import MINDER, WHERE, WORKING_ROLES


@dataclass(frozen=True, slots=True)
class Audience:
    """The people of a garden, and by channel who of them gets one kind of message.

    ``leads`` coordinate or own it, ``workers`` may do its tasks.
    """

    people: dict[int, Person]
    leads: frozenset[int]
    workers: frozenset[int]
    by_channel: dict[str, set[int]]

    def channels_of(self, person_id: int) -> list[str]:
        """Return the channels on which a person gets this kind."""
        return [channel for channel, people in self.by_channel.items() if person_id in people]


def audience_of(garden_id: int, kind: str) -> Audience:
    """Return who belongs to a garden today, with three queries."""
    members = list(
        Membership.objects.filter(garden_id=garden_id, left_on__isnull=True, person__is_active=True)
        .select_related("person")
        .order_by("pk")
    )
    people = {member.person_id: member.person for member in members}
    return Audience(
        people=people,
        leads=frozenset(each.person_id for each in members if each.role in LEADING_ROLES),
        workers=frozenset(each.person_id for each in members if each.role in WORKING_ROLES),
        by_channel=people_by_channel(people, kind),
    )


def open_tasks(site: Site) -> "QuerySet[Any]":
    """Return the open tasks of a site with who minds each, as ``minder``, and its ``where``.

    The assignee goes first, then the holder.
    """
    return _minded(Task.objects.filter(site=site))


def garden_tasks(garden: Garden) -> "QuerySet[Any]":
    """Return the open tasks of all a garden's sites, as ``open_tasks`` does."""
    return _minded(Task.objects.filter(garden=garden))


def _minded(tasks: "QuerySet[Task]") -> "QuerySet[Any]":
    return tasks.filter(state=Task.State.OPEN).annotate(minder=MINDER, where=WHERE)


def nobody_of(people: Any) -> Q:
    """Return the condition that a task is minded by none of these people, ids or a query."""
    return Q(minder__isnull=True) | ~Q(minder__in=people)

"""What somebody has in a garden: plants and plots by place, tasks, tools, turns on the rota."""

from dataclasses import dataclass, field
from datetime import date

from django.db.models import Q

from lifecycle.life.phases import Phase
from lifecycle.models import (
    BedHolding,
    Membership,
    OnCallTurn,
    Person,
    Place,
    Plant,
    Sowing,
    Task,
    ToolLoan,
)
from lifecycle.records.ground.shed import out_with
from lifecycle.records.people.handing_load import Load
from lifecycle.records.work.minding import RELATED


@dataclass(slots=True)
class Group:
    """What somebody has in one place; ``place`` None: what has no place noted.

    ``holds``: the plot itself is theirs, and ``mine`` what they hold in it.
    """

    place: Place | None
    holds: bool = False
    plants: list[Plant] = field(default_factory=list)
    sowings: list[Sowing] = field(default_factory=list)

    @property
    def key(self) -> int:
        """The number of the place, 0 for none."""
        return 0 if self.place is None else self.place.pk

    @property
    def load(self) -> Load:
        """The group as a hand-over passes it on."""
        return Load(self.plants, self.sowings, self.place if self.holds else None)


@dataclass(frozen=True, slots=True)
class Belongings:
    """Everything that needs somebody else when its person goes."""

    groups: list[Group]
    tasks: list[Task]
    loans: list[ToolLoan]
    turns: list[OnCallTurn]

    @property
    def any(self) -> bool:
        """Whether there is anything at all."""
        return bool(self.groups or self.tasks or self.loans or self.turns)


def belongings_of(member: Membership, today: date) -> Belongings:
    """Return what a member has in the garden, with seven queries however much it is."""
    garden, person = member.garden_id, member.person
    turns = OnCallTurn.objects.filter(garden=garden, person=person, last_day__gte=today)
    return Belongings(
        groups=groups_of(garden, person),
        tasks=list(
            Task.objects.filter(garden=garden, assignee=person, state=Task.State.OPEN)
            .select_related(*RELATED)
            .order_by("latest", "pk")
        ),
        loans=list(out_with(person, garden)),
        turns=list(turns.select_related("site").order_by("first_day", "pk")),
    )


def groups_of(garden_id: int, person: Person) -> list[Group]:
    """Return what somebody holds, by place in walking order; four queries at most."""
    mine = Q(garden=garden_id, holder=person) & ~Q(phase=Phase.ENDED)
    plants = Plant.objects.filter(mine).select_related("variety", "site").order_by("name", "pk")
    sowings = Sowing.objects.filter(mine).select_related("variety", "site").order_by("pk")
    held = set(
        BedHolding.objects.filter(garden=garden_id, person=person, until__isnull=True).values_list(
            "place", flat=True
        )
    )
    records: list[Plant | Sowing] = [*plants, *sowings]
    wanted = held | {record.place_id for record in records if record.place_id}
    places = Place.objects.filter(pk__in=wanted).select_related("site")
    groups = {
        place.pk: Group(place, holds=place.pk in held)
        for place in places.order_by("site", "position", "name", "pk")
    }
    for record in records:
        group = groups.setdefault(record.place_id or 0, Group(None))
        if isinstance(record, Plant):
            group.plants.append(record)
        else:
            group.sowings.append(record)
    return list(groups.values())

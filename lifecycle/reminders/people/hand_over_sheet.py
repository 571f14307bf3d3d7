"""The facts of a hand-over sheet: what grows where, what rests unseen, what comes in six weeks."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta

from django.db.models import Q

from lifecycle.care.bed_rules import in_words
from lifecycle.care.catalogue import STEP_RULES
from lifecycle.care.outlook import Ground
from lifecycle.care.plan import next_of_each
from lifecycle.life.fold import Fact, fold
from lifecycle.life.kinds import Kind
from lifecycle.life.phases import Phase
from lifecycle.models import Inspection, Membership, Person, Place, Plant, Sowing, Task
from lifecycle.records.crops import ledger
from lifecycle.records.crops.seeds import UNKNOWN_SEED, seed_facts
from lifecycle.records.ground.bed_rules import as_rules
from lifecycle.records.ground.inspections import notices_by_place
from lifecycle.records.people.belongings import Group
from lifecycle.records.work.minding import RELATED
from lifecycle.reminders.work.planning import climate_of, grounds_of, steps_of
from lifecycle.reminders.work.task_words import label_of

AHEAD = timedelta(days=42)
"""How far ahead the sheet looks: six weeks."""
TOLD = (Kind.CUT_BACK, Kind.FED, Kind.WATERED)
"""The acts whose last day a newcomer has to know."""

Record = Plant | Sowing


@dataclass(frozen=True, slots=True)
class Coming:
    """Something to be done: what, to which record, from when to when."""

    label: str
    about: str
    best: date
    latest: date


@dataclass(frozen=True, slots=True)
class SheetRow:
    """One plant or sowing: whether it may show nothing, and when what was last done to it."""

    record: Record
    unseen: bool
    last: dict[Kind, date]


@dataclass(slots=True)
class SheetPlace:
    """One place of the sheet with its rules, its notices and what is in it."""

    place: Place | None
    holds: bool
    rules: list[str]
    notices: list[Inspection]
    rows: list[SheetRow]
    coming: list[Coming] = field(default_factory=list)

    @property
    def unseen(self) -> int:
        """How many plants here may show nothing above ground."""
        return sum(row.unseen for row in self.rows)


def sheet_of(
    groups: Sequence[Group], person: Person, today: date, *, reader: Membership
) -> list[SheetPlace]:
    """Return the sheet of what is handed over, in walking order, as ``reader`` may see it.

    ``person`` is whose tasks count beside those that nobody was given. Notices of a bed are for
    its holders and for who inspects.
    """
    records: list[Record] = [each for group in groups for each in group.load.records]
    facts = _facts(records)
    coming = _coming(records, facts, person, today)
    places = [group.place for group in groups if group.place is not None]
    notices = notices_by_place(reader, places, today)
    return [
        SheetPlace(
            place=group.place,
            holds=group.holds,
            rules=in_words(as_rules(group.place.rules)) if group.place else [],
            notices=notices.get(group.key, []),
            rows=[_row(each, facts[_key(each)], group.place) for each in _of(group)],
            coming=sorted(
                (each for record in _of(group) for each in coming.get(_key(record), [])),
                key=lambda each: (each.best, each.label, each.about),
            ),
        )
        for group in groups
    ]


def phases_of(sheet: Iterable[SheetPlace]) -> list[Phase]:
    """Return the phases that the sheet speaks of, in the order of life."""
    used = {row.record.phase for place in sheet for row in place.rows}
    return [phase for phase in Phase if phase.value in used]


def _of(group: Group) -> list[Record]:
    return [*group.plants, *group.sowings]


def _key(record: Record) -> tuple[str, int]:
    return (ledger.subject_of(record), record.pk)


def _facts(records: Sequence[Record]) -> dict[tuple[str, int], list[Fact]]:
    plants = [each.pk for each in records if isinstance(each, Plant)]
    sowings = [each.pk for each in records if isinstance(each, Sowing)]
    found = {("plant", pk): facts for pk, facts in ledger.facts_by_record("plant", plants).items()}
    for pk, facts in ledger.facts_by_record("sowing", sowings).items():
        found[("sowing", pk)] = facts
    return found


def _row(record: Record, facts: Sequence[Fact], place: Place | None) -> SheetRow:
    last = {fact.kind: fact.happened_on for fact in facts if fact.kind in TOLD}
    roofed = place is not None and place.sheltered
    return SheetRow(record, record.phase == Phase.RESTING and not roofed, last)


def _coming(
    records: Sequence[Record],
    facts: dict[tuple[str, int], list[Fact]],
    person: Person,
    today: date,
) -> dict[tuple[str, int], list[Coming]]:
    """Return by record its open tasks, and what the plan adds to them within AHEAD."""
    found: dict[tuple[str, int], list[Coming]] = {}
    taken: set[tuple[object, ...]] = set()
    for task in _tasks(records, today):
        record = task.plant or task.sowing
        assert record is not None
        taken.add((*_key(record), task.kind, task.growing_year, task.number))
        if task.state == Task.State.OPEN and task.assignee_id in (None, person.pk):
            found.setdefault(_key(record), []).append(
                Coming(label_of(task), str(record), task.best, task.latest)
            )
    grounds = grounds_of(records)
    sowings = [each for each in records if isinstance(each, Sowing) and each.phase == Phase.PLANNED]
    seeds = seed_facts(sowings, today) if sowings else {}
    climates = {site.pk: climate_of(site) for site in {each.site for each in records}}
    for record in records:
        life = fold(ledger.subject_of(record), facts[_key(record)])
        assert life is not None
        ground = grounds[record.place_id] if record.place_id else Ground()
        seed = seeds.get(record.pk, UNKNOWN_SEED) if isinstance(record, Sowing) else UNKNOWN_SEED
        steps = steps_of(record, life, climates[record.site_id], today, ground, today + AHEAD, seed)
        for step in next_of_each(steps):
            if (*_key(record), *step.identity) not in taken and step.window.best <= today + AHEAD:
                found.setdefault(_key(record), []).append(
                    Coming(
                        STEP_RULES[step.kind].label,
                        str(record),
                        step.window.best,
                        step.window.latest,
                    )
                )
    return found


def _tasks(records: Sequence[Record], today: date) -> list[Task]:
    own = Q(plant__in=[each.pk for each in records if isinstance(each, Plant)]) | Q(
        sowing__in=[each.pk for each in records if isinstance(each, Sowing)]
    )
    lately = Q(state=Task.State.OPEN, earliest__lte=today + AHEAD) | Q(
        latest__gte=today - AHEAD, state__in=[Task.State.DONE, Task.State.CANNOT]
    )
    return list(Task.objects.filter(own & lately).select_related(*RELATED).order_by("best", "pk"))

"""One invented life, of a plant or of a row sown in a bed: it follows the plan, not to the day."""

import random
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from uuid import UUID

from lifecycle.care.catalogue import ROUTINE
from lifecycle.care.outlook import Ground, SiteEvent
from lifecycle.care.plan import plan
from lifecycle.care.site_dates import SiteDates
from lifecycle.care.steps import Step
from lifecycle.life.fold import Fact, Life, Subject, fold
from lifecycle.life.kinds import Kind
from lifecycle.life.phases import Phase, Route
from lifecycle.models import Place
from lifecycle.records.crops.drafts import Draft
from lifecycle.records.crops.ledger import as_fact
from lifecycle.reminders.work.planning import ground_of

_SOME_DAY = datetime(2000, 1, 1, tzinfo=UTC)
LOOK_AHEAD = timedelta(days=45)
TOGETHER = timedelta(days=5)
"""Chores that lie this close are done on the strength of one look at the plan."""

SKIPPED: Mapping[str, float] = {
    **{"label": 0.1, "mulch": 0.2, "pinch": 0.3, "flowers_off": 0.3, "tie": 0.2},
    **{"stake": 0.15, "stake_stout": 0.2, "cage": 0.1, "shade": 0.4, "guard": 0.2},
    **{"label_check": 0.25, "acclimatise": 0.25, "last_pick": 0.1, "repot": 0.15},
    **{"pest_check": 0.1},
}
"""The share of each chore that nobody gets round to. What others wait for is not among them."""

BACKED_UP, BACKED_UP_LONG_AGO = 0.8, 0.1
"""The share of plants of which seed is saved: of the last year, and of the years before."""

QUIET = frozenset(
    {"water_in", "label", "mulch", "pinch", "stake", "stake_stout", "cage", "string", "tie"}
    | {"side_shoots", "wind_on", "lower", "flowers_off", "shade", "unshade", "pest_check"}
    | {"label_check", "acclimatise", "guard", "winter_water", "pollinate", "leach", "repot"}
    | {"heat_water", "look_over", "feed", "harvest", "winter_check"}
)
"""Steps that leave every other quiet step as it is, unless they end the life."""


@dataclass(frozen=True, slots=True)
class Grounds:
    """Where a plant of this story may stand."""

    beds: list[Place]
    nursery: Place
    cool: Place
    bright: Place


@dataclass(slots=True)
class Tale:
    """A life being told until ``until``: its drafts so far and what was decided about steps.

    ``lateness`` holds, by step, the days after its best day on which it is done, or None for
    one that nobody does. ``flowers_on`` is the day it flowers by itself.
    """

    species: str
    dates: SiteDates
    grounds: Grounds
    rng: random.Random
    route: Route
    until: date
    subject: Subject = "plant"
    seeds: int = 0
    materials: tuple[str, ...] = ()
    overrides: Mapping[str, float] = field(default_factory=dict)
    events: tuple[SiteEvent, ...] = ()
    drafts: list[Draft] = field(default_factory=list)
    facts: list[Fact] = field(default_factory=list)
    lateness: dict[tuple[str, int, int], int | None] = field(default_factory=dict)
    flowers_on: date | None = None
    place: Place | None = None

    def write(self, kind: Kind, day: date, **more: object) -> None:
        """Add one draft."""
        uuid = UUID(int=self.rng.getrandbits(128), version=4)
        draft = Draft(kind, day, uuid, **more)  # type: ignore[arg-type]
        self.facts.append(as_fact(draft, _SOME_DAY, len(self.drafts)))
        self.drafts.append(draft)
        self.place = draft.place or self.place

    @property
    def over(self) -> bool:
        """Whether the life has ended."""
        return self.drafts[-1].kind is Kind.ENDED

    def life(self) -> Life:
        """Return the life so far."""
        life = fold(self.subject, self.facts)
        assert life is not None
        return life

    def standing_in(self) -> Ground:
        """Return what it stands in."""
        return ground_of(self.place)


Deed = Callable[[Tale, date, Step], None]


@dataclass(frozen=True, slots=True)
class Happening:
    """Something that comes: a step that somebody does, or (None) the first flower."""

    day: date
    step: Step | None

    @property
    def quiet(self) -> bool:
        """Whether what else comes still comes after it."""
        return self.step is not None and self.step.kind in QUIET


def tell(tale: Tale, do: Deed) -> list[Draft]:
    """Live on from the opening drafts; ``do`` writes each step that is done. Returns all drafts."""
    cursor = tale.drafts[-1].happened_on
    while cursor <= tale.until and not tale.over:
        life = tale.life()
        coming = _coming(tale, life, cursor)
        looks_again = _looks_again(tale, cursor)
        if not coming or coming[0].day > looks_again:
            cursor = looks_again
            continue
        for happening in _at_once(coming):
            cursor = happening.day
            if cursor > tale.until or tale.over:
                break
            _happen(tale, happening, do)
    return tale.drafts


def _looks_again(tale: Tale, cursor: date) -> date:
    """Return the day on which the plan is looked at again at the latest: bad weather changes it."""
    weather = [event.began for event in tale.events if event.began > cursor]
    return min([cursor + LOOK_AHEAD, *weather])


def _coming(tale: Tale, life: Life, cursor: date) -> list[Happening]:
    steps = plan(
        life,
        tale.species,
        tale.dates,
        cursor,
        until=cursor + LOOK_AHEAD,
        ground=tale.standing_in(),
        events=tale.events,
        overrides=tale.overrides,
    )
    found = []
    for step in steps:
        late = None if step.waits_for else _lateness(tale, step)
        if late is not None:
            found.append(Happening(max(cursor, step.window.best + timedelta(late)), step))
    if tale.flowers_on is not None and _may_flower(life):
        found.append(Happening(max(cursor, tale.flowers_on), None))
    return sorted(found, key=lambda happening: happening.day)


def _at_once(coming: list[Happening]) -> Iterator[Happening]:
    """Yield the first to come, and where it is quiet what else is quiet and near; no act twice."""
    first, *others = coming
    yield first
    done = {first.step.kind} if first.step is not None else set()
    for other in others if first.quiet else ():
        if not other.quiet or other.day > first.day + TOGETHER:
            return
        if other.step is not None and other.step.kind not in done:
            done.add(other.step.kind)
            yield other


def _happen(tale: Tale, happening: Happening, do: Deed) -> None:
    if happening.step is None:
        tale.flowers_on = None
        tale.write(Kind.FIRST_FLOWER, happening.day)
    else:
        do(tale, happening.day, happening.step)


def _may_flower(life: Life) -> bool:
    growing = life.phase in (Phase.ESTABLISHING, Phase.GROWING)
    return growing and life.outside and life.lifted_on is None


def _lateness(tale: Tale, step: Step) -> int | None:
    if step.identity not in tale.lateness:
        tale.lateness[step.identity] = _decide(tale, step)
    return tale.lateness[step.identity]


def _decide(tale: Tale, step: Step) -> int | None:
    rng = tale.rng
    if rng.random() < _skipped(tale, step):
        return None
    if step.kind == "water_in":
        return 0
    if step.kind == "emergence":  # its best day is that of the coldest soil
        return (step.window.earliest - step.window.best).days // 2
    if step.kind in ROUTINE:
        return rng.randint(5, 9) if rng.random() < 0.1 else rng.randint(-1, 2)
    return rng.randint(-1, 2)


def _skipped(tale: Tale, step: Step) -> float:
    if step.kind != "backup":
        return SKIPPED.get(step.kind, 0.0)
    lately = step.window.best > tale.until - timedelta(300)
    return 1 - (BACKED_UP if lately else BACKED_UP_LONG_AGO)

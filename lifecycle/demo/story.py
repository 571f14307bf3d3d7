"""One plant's invented life: it follows the plan, a little early or late, with losses."""

import random
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from uuid import UUID

from lifecycle.care.plan import plan
from lifecycle.care.site_dates import SiteDates
from lifecycle.care.steps import Step
from lifecycle.life.fold import Life, fold
from lifecycle.life.kinds import Kind
from lifecycle.life.phases import Phase, Route
from lifecycle.models import Place
from lifecycle.records.drafts import Draft
from lifecycle.records.ledger import as_fact

_SOME_DAY = datetime(2000, 1, 1, tzinfo=UTC)
LOOK_AHEAD = timedelta(days=45)


@dataclass(slots=True)
class Grounds:
    """Where a plant of this story may stand."""

    beds: list[Place]
    nursery: Place
    cool: Place
    bright: Place


@dataclass(slots=True)
class Tale:
    """A life being told: its drafts so far and what is still to happen by itself."""

    species: str
    dates: SiteDates
    grounds: Grounds
    rng: random.Random
    route: Route
    drafts: list[Draft] = field(default_factory=list)
    by_itself: list[tuple[date, Kind]] = field(default_factory=list)

    def write(self, kind: Kind, day: date, **more: object) -> None:
        """Add one draft."""
        self.drafts.append(
            Draft(kind, day, UUID(int=self.rng.getrandbits(128), version=4), **more)  # type: ignore[arg-type]
        )

    def life(self) -> Life:
        """Return the life so far."""
        facts = [as_fact(draft, _SOME_DAY, index) for index, draft in enumerate(self.drafts)]
        life = fold("plant", facts)
        assert life is not None
        return life


def tell(tale: Tale, until: date) -> list[Draft]:
    """Live on from the opening drafts until ``until``; returns all drafts in order."""
    cursor = tale.drafts[-1].happened_on
    while cursor <= until:
        life = tale.life()
        if not life.alive:
            break
        happening = _next(tale, life, cursor)
        if happening is None:
            cursor += LOOK_AHEAD
            continue
        day, act = happening
        if day > until:
            break
        act(day)
        cursor = day
    return tale.drafts


def _next(tale: Tale, life: Life, cursor: date) -> tuple[date, Callable[[date], None]] | None:
    happenings: list[tuple[date, int, Callable[[date], None]]] = []
    for step in plan(life, tale.species, tale.dates, cursor, until=cursor + LOOK_AHEAD):
        if not step.waits_for:
            late = 9 if step.kind == "winter_check" else 2
            day = max(cursor, step.window.best + timedelta(tale.rng.randint(-1, late)))
            happenings.append((day, len(happenings), _doing(tale, step)))
    while tale.by_itself and not _possible(life, tale.by_itself[0][1]):
        tale.by_itself.pop(0)
    if tale.by_itself:
        day, kind = tale.by_itself[0]
        happenings.append((max(cursor, day), len(happenings), _unasked(tale, kind)))
    if not happenings:
        return None
    day, _, act = min(happenings, key=lambda happening: happening[:2])
    return day, act


def _possible(life: Life, kind: Kind) -> bool:
    outside = not life.under_roof and life.lifted_on is None
    growing = life.phase in (Phase.ESTABLISHING, Phase.GROWING, Phase.BEARING)
    return outside and growing and not (kind is Kind.FIRST_FLOWER and life.phase is Phase.BEARING)


def _unasked(tale: Tale, kind: Kind) -> Callable[[date], None]:
    def act(day: date) -> None:
        tale.by_itself.pop(0)
        if kind is Kind.PICKED:
            tale.write(kind, day, quantity=float(tale.rng.randint(6, 42) * 10))
        else:
            tale.write(kind, day)

    return act


def _doing(tale: Tale, step: Step) -> Callable[[date], None]:
    def act(day: date) -> None:
        _ACTS[step.kind](tale, day)

    return act


def _plant_out(tale: Tale, day: date) -> None:
    tale.write(Kind.PLANTED_OUT, day, place=tale.rng.choice(tale.grounds.beds))
    _crop_ahead(tale, day)


def _crop_ahead(tale: Tale, day: date) -> None:
    """Let it flower and bear some time after ``day``."""
    flower = day + timedelta(tale.rng.randint(25, 40))
    tale.by_itself = [(flower, Kind.FIRST_FLOWER)]
    pick = flower + timedelta(tale.rng.randint(35, 50))
    for _ in range(tale.rng.randint(3, 7)):
        tale.by_itself.append((pick, Kind.PICKED))
        pick += timedelta(tale.rng.randint(7, 14))


def _review(tale: Tale, day: date) -> None:
    let_go = tale.rng.random() < 0.16
    tale.write(Kind.REVIEWED, day, choice=(Route.LET_GO if let_go else tale.route).value)


def _pest_check(tale: Tale, day: date) -> None:
    found = "treated" if tale.rng.random() < 0.2 else "clean"
    tale.write(Kind.PEST_CHECK, day, choice=found)


def _cut_back(tale: Tale, day: date) -> None:
    lifted = tale.life().lifted_on is not None
    tale.write(Kind.CUT_BACK, day, quantity=float(tale.rng.choice((5, 10) if lifted else (20, 24))))
    if not lifted:
        _crop_ahead(tale, day)


def _quarters(tale: Tale, day: date) -> None:
    resting = tale.route is not Route.GROWING_ON
    place = tale.grounds.cool if resting else tale.grounds.bright
    choice = (Route.RESTING if resting else Route.GROWING_ON).value
    tale.write(Kind.WINTER_QUARTERS, day, choice=choice, place=place)


def _winter_check(tale: Tale, day: date) -> None:
    if tale.rng.random() < 0.012:
        tale.write(Kind.WINTER_CHECK, day, choice="soft")
        tale.write(Kind.ENDED, day, choice="died", note="Stem soft to the base.")
    else:
        tale.write(Kind.WINTER_CHECK, day, choice="sound")


def _wake(tale: Tale, day: date) -> None:
    if tale.rng.random() < 0.1:
        tale.write(Kind.ENDED, day, choice="died", note="No green under the bark.")
        return
    tale.write(Kind.WOKEN, day)
    tale.write(Kind.FIRST_GROWTH, day)


def _plain(kind: Kind, **more: object) -> Callable[[Tale, date], None]:
    def act(tale: Tale, day: date) -> None:
        tale.write(kind, day, **more)

    return act


_ACTS: dict[str, Callable[[Tale, date], None]] = {
    "harden": _plain(Kind.HARDENING),
    "harden_again": _plain(Kind.HARDENING),
    "plant_out": _plant_out,
    "replant": _plant_out,
    "first_feed": _plain(Kind.FED, quantity=15.0),
    "feed": _plain(Kind.FED, quantity=20.0),
    "review": _review,
    "pest_check": _pest_check,
    "lift": _plain(Kind.LIFTED),
    "cut_back": _cut_back,
    "winter_quarters": _quarters,
    "winter_water": _plain(Kind.WATERED, quantity=0.3),
    "winter_check": _winter_check,
    "wake": _wake,
    "let_go": _plain(Kind.ENDED, choice="removed"),
    "take_cutting": _plain(Kind.CUTTING_TAKEN),
}

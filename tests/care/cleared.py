"""A plant in a bed with rules, lived day by day: it leaves for a pot and comes back."""

from dataclasses import dataclass, field
from datetime import date

from lifecycle.care.bed_rules import NO_RULES, BedRules
from lifecycle.care.outlook import Ground
from lifecycle.care.plan import plan
from lifecycle.care.seasons import season
from lifecycle.care.site_dates import SiteDates
from lifecycle.care.steps import Step
from lifecycle.life.fold import Fact
from lifecycle.life.kinds import Kind
from tests.care.walker import Done, Walk
from tests.life.facts import BED, fact, life_of

BENCH = 3
OCTOBER = BedRules(clear_by=(10, 15))


def set_out(dates: SiteDates, year: int = 2026, day: date | None = None) -> list[Fact]:
    """A plant set out on the best day of a season."""
    out = day or season(dates, year).plant_out.best
    return [
        fact(Kind.INHERITED, out, inside=True, quantity=1, choice="seedling"),
        fact(Kind.PLANTED_OUT, out, inside=False),
    ]


def planned(
    facts: list[Fact], dates: SiteDates, today: date, rules: BedRules, crop: str = "annuum", **more
) -> list[Step]:
    """The plan of a plant in a bed with these rules."""
    return plan(life_of(facts), crop, dates, today, ground=Ground(rules=rules), **more)


def first_of(steps: list[Step]) -> dict[str, Step]:
    found: dict[str, Step] = {}
    for step in steps:
        found.setdefault(step.kind, step)
    return found


def edges(step: Step) -> tuple[str, str, str]:
    """The window as month-day."""
    window = step.window
    return tuple(f"{day:%m-%d}" for day in (window.earliest, window.best, window.latest))


@dataclass
class RuledWalk(Walk):
    """One life whose bed has rules; out of the bed they do not touch it."""

    rules: BedRules = NO_RULES
    in_bed: list[date] = field(default_factory=list)

    def plan(self) -> list[Step]:
        life = self.life()
        pots = {BED: False, BENCH: True}
        ground = Ground()
        if life.place in pots:
            ground = Ground(in_pot=pots[life.place], rules=self.rules)
        if life.place == BED and life.lifted_on is None and self.day not in self.in_bed:
            self.in_bed.append(self.day)
        return plan(life, "annuum", self.dates, self.day, ground=ground)

    def _do(self, step: Step) -> None:
        if step.kind != "pot_out":
            return super()._do(step)
        self.done.append(Done(self.day, step))
        self.facts.append(fact(Kind.PLANTED_OUT, self.day, place=BENCH, sheltered=False))
        return None

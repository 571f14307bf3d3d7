"""A gardener who does each step on its best day, day by day, and what they notice."""

from dataclasses import dataclass, field
from datetime import date, timedelta

from lifecycle.care.catalogue import STEP_RULES
from lifecycle.care.plan import plan
from lifecycle.care.site_dates import SiteDates
from lifecycle.care.steps import Step
from lifecycle.care.winter import usual_route
from lifecycle.handbook import CROPS
from lifecycle.life.fold import Fact, Life
from lifecycle.life.kinds import Kind
from lifecycle.life.phases import Route
from tests.life.facts import fact, life_of

ONE_CHOICE = {Kind.ENDED: "removed"}
QUANTITIES = {Kind.SOWN: 20, Kind.EMERGED: 15, Kind.POTTED_UP: 1}


@dataclass(frozen=True, slots=True)
class Done:
    """A step as it was done."""

    day: date
    step: Step

    @property
    def kind(self) -> str:
        return self.step.kind


@dataclass
class Walk:
    """One life at one site, from a planned sowing on."""

    dates: SiteDates
    day: date
    route: Route | None = None
    facts: list[Fact] = field(default_factory=list)
    done: list[Done] = field(default_factory=list)
    subject: str = "sowing"

    def __post_init__(self) -> None:
        self.facts = self.facts or [fact(Kind.PLANNED, self.day)]

    def life(self) -> Life:
        return life_of(self.facts, self.subject)

    def plan(self) -> list[Step]:
        return plan(self.life(), "annuum", self.dates, self.day)

    def walk(self, days: int) -> "Walk":
        """Live ``days`` days, or until the plant ends."""
        for _ in range(days):
            self._one_day()
            if not self.life().alive:
                break
            self.day += timedelta(1)
        return self

    def kinds_of(self, year: int) -> list[str]:
        """The kinds of step done in a growing year, each once, in the order they began."""
        return list(dict.fromkeys(d.kind for d in self.done if d.step.growing_year == year))

    def _one_day(self) -> None:
        for _ in range(12):
            steps = self.plan()
            self._look_over(steps)
            ready = [s for s in steps if not s.waits_for and s.window.best <= self.day]
            if not ready:
                break
            self._do(ready[0])
        else:
            raise AssertionError(f"the work of {self.day} never ends: {ready}")
        late = [s for s in self.plan() if s.window.latest < self.day]
        assert not late, (self.day, late)

    def _look_over(self, steps: list[Step]) -> None:
        identities = [step.identity for step in steps]
        assert len(set(identities)) == len(identities), (self.day, identities)
        own = {done.step.identity for done in self.done if self._same_subject(done)}
        assert not own & set(identities), (self.day, own & set(identities))
        kinds = {step.kind for step in steps}
        assert {step.waits_for for step in steps} - {""} <= kinds, (self.day, steps)

    def _same_subject(self, done: Done) -> bool:
        return (done.kind in ("sow", "emergence", "pot_up")) is (self.subject == "sowing")

    def _do(self, step: Step) -> None:
        kind = STEP_RULES[step.kind].done_by
        self.done.append(Done(self.day, step))
        if kind is Kind.POTTED_UP:
            self.subject = "plant"
            self.facts = [fact(Kind.RAISED, self.day, inside=True, quantity=1)]
            return
        choice = STEP_RULES[step.kind].choice or ONE_CHOICE.get(kind, "")
        inside = None
        if kind is Kind.REVIEWED:
            choice = (self.route or usual_route(self.dates, CROPS["annuum"])).value
        elif kind is Kind.WINTER_QUARTERS:
            choice, inside = (self.life().route or Route.RESTING).value, True
        elif kind is Kind.PLANTED_OUT:
            inside = False
        self.facts.append(
            fact(kind, self.day, inside=inside, choice=choice, quantity=QUANTITIES.get(kind))
        )

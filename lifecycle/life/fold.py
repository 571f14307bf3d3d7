"""From entries to the life so far.

``fold`` is the one place where phase, place, holder, count and route come from. It reads
entries in the order (happened on, stands at, id), refuses the first one that cannot
follow, and never looks at a clock.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Literal

from lifecycle.life.kinds import RULES, Kind, KindRule, rule_for
from lifecycle.life.phases import OUTSIDE, PHASE_LABELS, Phase, Route

Subject = Literal["sowing", "plant"]

_UNDER_ROOF_OR_OUT = OUTSIDE | {Phase.RESTING, Phase.WAKING}
"""Phases in which a roof may be overhead or not; the others say it themselves."""


@dataclass(frozen=True, slots=True)
class Fact:
    """One entry as the fold sees it; ``sheltered`` says whether its place has a roof.

    ``variety`` is set where an entry settles which variety the plant is.
    """

    id: int
    kind: Kind
    happened_on: date
    stands_at: datetime
    quantity: float | None = None
    choice: str = ""
    place: int | None = None
    sheltered: bool | None = None
    holder: int | None = None
    variety: int | None = None


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of life in one phase; ``until`` is None while it lasts."""

    phase: Phase
    since: date
    until: date | None


class ImpossibleEntry(ValueError):
    """An entry that cannot follow what stands before it; ``str`` says why and what to do."""

    def __init__(self, fact: Fact, sentence: str) -> None:
        super().__init__(sentence)
        self.fact = fact


@dataclass(slots=True)
class Life:
    """What the entries add up to.

    ``in_doubt``: nobody is sure which plant this is. ``variety``: what an entry settled, or
    None while the label's word stands.
    """

    subject: Subject
    phase: Phase
    phase_since: date
    began_on: date
    place: int | None = None
    holder: int | None = None
    count: int = 1
    route: Route | None = None
    under_roof: bool = True
    planted_out_on: date | None = None
    lifted_on: date | None = None
    quarters_on: date | None = None
    ended_on: date | None = None
    ended_how: str = ""
    seeds_sown: int = 0
    emerged: int = 0
    potted_up: int = 0
    last_on: dict[Kind, date] = field(default_factory=dict)
    feeds_since_out: int = 0
    times_planted_out: int = 0
    in_doubt: bool = False
    variety: int | None = None
    last_choice: dict[Kind, str] = field(default_factory=dict)
    dates: dict[Kind, list[date]] = field(default_factory=dict)
    spans: list[Span] = field(default_factory=list)

    @property
    def alive(self) -> bool:
        """Whether the life goes on."""
        return self.phase is not Phase.ENDED

    @property
    def outside(self) -> bool:
        """Whether it stands in the open where it crops."""
        return not self.under_roof and self.phase in _UNDER_ROOF_OR_OUT

    def since(self, kind: Kind, day: date | None) -> date | None:
        """Return the last date of ``kind`` on or after ``day``, or None."""
        last = self.last_on.get(kind)
        if last is None or (day is not None and last < day):
            return None
        return last


def in_order(facts: Iterable[Fact]) -> list[Fact]:
    """Sort entries as the record orders them."""
    return sorted(facts, key=lambda fact: (fact.happened_on, fact.stands_at, fact.id))


def fold(subject: Subject, facts: Iterable[Fact]) -> Life | None:
    """Fold entries into the life so far; None when there are none.

    Raises ImpossibleEntry with the first entry that cannot follow.
    """
    life: Life | None = None
    for fact in in_order(facts):
        rule = _rule(subject, fact)
        if life is None:
            life = _begin(subject, fact, rule)
        elif rule.begins and not (fact.kind is Kind.SOWN and life.phase is Phase.PLANNED):
            raise ImpossibleEntry(
                fact, f"“{rule.label}” opens a record, and this one has already begun."
            )
        else:
            _follow(life, fact, rule)
        _remember(life, fact)
    return life


def allowed_kinds(life: Life) -> list[KindRule]:
    """Return the rules of the kinds that may be logged by hand next."""
    found = []
    for kind in Kind:
        try:
            rule = rule_for(kind, life.subject)
        except KeyError:
            continue
        follows = not rule.begins or (kind is Kind.SOWN and life.phase is Phase.PLANNED)
        if rule.by_hand and follows and why_not(life, rule) is None:
            found.append(rule)
    return found


def why_not(life: Life, rule: KindRule, choice: str = "") -> str | None:
    """Return the sentence that says why ``rule`` cannot be logged now, or None if it can."""
    if life.phase not in _leads(rule, choice, life):
        if life.phase is Phase.ENDED:
            return (
                f"“{rule.label}” cannot be logged: this record ended on "
                f"{life.ended_on:%-d %B %Y}. Strike that entry first if it was a mistake."
            )
        return (
            f"“{rule.label}” cannot follow while it is {PHASE_LABELS[life.phase].lower()}. "
            f"{_what_first(rule, life)}"
        )
    if rule.roof is not None and life.phase in _UNDER_ROOF_OR_OUT:
        if rule.roof and not life.under_roof and life.lifted_on is None:
            return (
                f"“{rule.label}” needs a plant under a roof, and this one already stands "
                "outside. Log “Lifted” or “Into winter quarters” first."
            )
        if not rule.roof and life.under_roof:
            return (
                f"“{rule.label}” needs a plant in the open, and this one is under a roof. "
                "Log “Planted out” first."
            )
    return None


def _rule(subject: Subject, fact: Fact) -> KindRule:
    try:
        return rule_for(fact.kind, subject)
    except KeyError:
        label = RULES[fact.kind].label
        raise ImpossibleEntry(
            fact, f"“{label}” does not belong in the record of a {subject}."
        ) from None


def _leads(rule: KindRule, choice: str, life: Life) -> dict[Phase, Phase]:
    leads = rule.leads_by_choice.get(choice, rule.leads_to)
    return leads if life.under_roof else {**leads, **rule.leads_in_the_open}


def _what_first(rule: KindRule, life: Life) -> str:
    wanted = [PHASE_LABELS[phase].lower() for phase in rule.leads_to]
    steps = [
        RULES[kind].label
        for kind in Kind
        if RULES[kind].subject == life.subject
        and not RULES[kind].begins
        and RULES[kind].leads_to.get(life.phase) in rule.leads_to
        and RULES[kind].leads_to[life.phase] is not life.phase
        and kind is not rule.kind
    ]
    if steps:
        return f"Log “{steps[0]}” first."
    return f"It is logged while a plant is {' or '.join(wanted)}." if wanted else ""


_BEGINNINGS = {
    Kind.PLANNED: Phase.PLANNED,
    Kind.SOWN: Phase.SOWN,
    Kind.RAISED: Phase.SEEDLING,
    Kind.STRUCK_CUTTING: Phase.SEEDLING,
}


def _begin(subject: Subject, fact: Fact, rule: KindRule) -> Life:
    if not rule.begins:
        raise ImpossibleEntry(
            fact,
            f"“{rule.label}” on {fact.happened_on:%-d %B %Y} stands before the record begins. "
            "Give a later date, or correct the date of the first entry.",
        )
    phase = _BEGINNINGS[fact.kind] if fact.kind in _BEGINNINGS else Phase(fact.choice)
    life = Life(
        subject=subject,
        phase=phase,
        phase_since=fact.happened_on,
        began_on=fact.happened_on,
        under_roof=fact.sheltered if fact.sheltered is not None else phase not in OUTSIDE,
    )
    life.spans.append(Span(phase, fact.happened_on, None))
    _apply(life, fact)
    return life


def _follow(life: Life, fact: Fact, rule: KindRule) -> None:
    refusal = why_not(life, rule, fact.choice)
    if refusal is not None:
        raise ImpossibleEntry(fact, refusal)
    _enter(life, _leads(rule, fact.choice, life)[life.phase], fact.happened_on)
    _apply(life, fact)


def _enter(life: Life, phase: Phase, day: date) -> None:
    if phase is life.phase:
        return
    last = life.spans[-1]
    life.spans[-1] = Span(last.phase, last.since, day)
    life.spans.append(Span(phase, day, None))
    life.phase, life.phase_since = phase, day


def _apply(life: Life, fact: Fact) -> None:
    """Take over what an entry says beside the phase."""
    if fact.place is not None:
        life.place = fact.place
        if fact.sheltered is not None:
            life.under_roof = fact.sheltered
        if fact.sheltered is False and life.quarters_on and life.phase in _UNDER_ROOF_OR_OUT:
            _out_again(life, fact.happened_on)
    if fact.holder is not None:
        life.holder = fact.holder
    effect = _EFFECTS.get(fact.kind)
    if effect is not None:
        effect(life, fact)


def _whole(fact: Fact) -> int:
    return int(fact.quantity or 0)


def _on_sown(life: Life, fact: Fact) -> None:
    life.seeds_sown = _whole(fact)


def _on_emerged(life: Life, fact: Fact) -> None:
    if _whole(fact) > life.seeds_sown:
        raise ImpossibleEntry(
            fact,
            f"{_whole(fact)} seedlings cannot come from {life.seeds_sown} seeds. "
            "Check the count, or correct the number sown.",
        )
    if _whole(fact) < life.potted_up:
        raise ImpossibleEntry(
            fact,
            f"{life.potted_up} were potted up already, so no fewer can have come up in all.",
        )
    life.emerged = _whole(fact)


def _on_potted_up(life: Life, fact: Fact) -> None:
    life.potted_up += _whole(fact)
    if life.potted_up > life.seeds_sown:
        raise ImpossibleEntry(
            fact,
            f"{life.potted_up} plants cannot come from {life.seeds_sown} seeds. "
            "Check the count, or correct the number sown.",
        )


def _on_begin_count(life: Life, fact: Fact) -> None:
    if fact.quantity is not None:
        life.count = _whole(fact)


def _on_planted_out(life: Life, fact: Fact) -> None:
    life.times_planted_out += 1
    life.under_roof = False
    _out_again(life, fact.happened_on)


def _out_again(life: Life, day: date) -> None:
    """A pot carried out of its quarters stands out as much as a plant in the ground."""
    life.planted_out_on = day
    life.feeds_since_out = 0
    life.lifted_on = life.quarters_on = None
    life.route = None


def _on_lifted(life: Life, fact: Fact) -> None:
    # The first of several counts: what follows from it keeps its place in the plan.
    life.lifted_on = life.lifted_on or fact.happened_on


def _on_quarters(life: Life, fact: Fact) -> None:
    life.quarters_on = life.quarters_on or fact.happened_on
    life.route = Route(fact.choice) if fact.choice else Route.RESTING
    life.under_roof = True


def _on_reviewed(life: Life, fact: Fact) -> None:
    life.route = Route(fact.choice)


def _on_fed(life: Life, fact: Fact) -> None:
    life.feeds_since_out += 1


def _on_split(life: Life, fact: Fact) -> None:
    if life.count < 2:
        raise ImpossibleEntry(fact, "Only a pair can be split, and this is a single plant.")
    life.count -= 1


def _on_in_doubt(life: Life, fact: Fact) -> None:
    life.in_doubt = True


def _on_settled(life: Life, fact: Fact) -> None:
    life.in_doubt = False
    if fact.variety is not None:
        life.variety = fact.variety


def _on_ended(life: Life, fact: Fact) -> None:
    life.ended_on, life.ended_how = fact.happened_on, fact.choice


_EFFECTS = {
    Kind.SOWN: _on_sown,
    Kind.EMERGED: _on_emerged,
    Kind.POTTED_UP: _on_potted_up,
    Kind.RAISED: _on_begin_count,
    Kind.INHERITED: _on_begin_count,
    Kind.STRUCK_CUTTING: _on_begin_count,
    Kind.SPLIT_OFF: _on_begin_count,
    Kind.PLANTED_OUT: _on_planted_out,
    Kind.LIFTED: _on_lifted,
    Kind.WINTER_QUARTERS: _on_quarters,
    Kind.REVIEWED: _on_reviewed,
    Kind.FED: _on_fed,
    Kind.SPLIT: _on_split,
    Kind.IN_DOUBT: _on_in_doubt,
    Kind.SETTLED: _on_settled,
    Kind.ENDED: _on_ended,
}


def _remember(life: Life, fact: Fact) -> None:
    life.last_on[fact.kind] = fact.happened_on
    if fact.choice:
        life.last_choice[fact.kind] = fact.choice
    life.dates.setdefault(fact.kind, []).append(fact.happened_on)

"""Random lives: a beginning and a row of entries, each allowed where it stands."""

from datetime import date, timedelta

from hypothesis import strategies as st

from lifecycle.life.fold import Fact, allowed_kinds, why_not
from lifecycle.life.kinds import RULES, Kind
from lifecycle.life.phases import PLANT_PHASES
from tests.life.facts import fact, life_of

BEGINNINGS = st.sampled_from(
    [
        fact(Kind.RAISED, date(2026, 1, 1), inside=True, quantity=2),
        fact(Kind.STRUCK_CUTTING, date(2026, 1, 1), quantity=1),
        *(
            fact(Kind.INHERITED, date(2026, 1, 1), inside=inside, quantity=1, choice=phase.value)
            for inside in (True, False)
            for phase in PLANT_PHASES
        ),
    ]
)


@st.composite
def walks(draw: st.DrawFn, most: int = 25) -> list[Fact]:
    """A plant and a row of entries, each one allowed where it stands, some on the same day."""
    facts = [draw(BEGINNINGS)]
    day = facts[0].happened_on
    for _ in range(draw(st.integers(0, most))):
        life = life_of(facts)
        rules = allowed_kinds(life)
        if life.count > 1:
            rules.append(RULES[Kind.SPLIT])
        if not life.alive:
            # Only notes follow an end; one is enough.
            return [*facts, fact(Kind.NOTE, day)]
        rule = draw(st.sampled_from(rules))
        fitting = [choice for choice in rule.choices if why_not(life, rule, choice) is None]
        choice = draw(st.sampled_from(fitting)) if fitting else ""
        inside = None
        if rule.needs_place:
            inside = rule.kind is Kind.WINTER_QUARTERS or (
                rule.kind is Kind.MOVED and draw(st.booleans())
            )
        day += timedelta(draw(st.integers(0, 40)))
        facts.append(fact(rule.kind, day, inside=inside, choice=choice))
    return facts

"""A gardener who does some of what is open, early or late, and leaves the rest."""

from datetime import date, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from lifecycle.care.catalogue import STEP_RULES
from lifecycle.care.plan import plan
from lifecycle.care.winter import usual_route
from lifecycle.handbook import CROPS
from lifecycle.life.kinds import Kind
from lifecycle.life.phases import Route
from tests.care.sites import INVENTED, REAL, site
from tests.care.walker import ONE_CHOICE
from tests.life.facts import fact, life_of

KEPT = st.sampled_from([Route.IN_GROUND, Route.RESTING, Route.GROWING_ON])


@given(st.data(), st.sampled_from([*REAL, *INVENTED]))
@settings(max_examples=40, deadline=None)
def test_what_was_done_never_comes_back(data: st.DataObject, name: str) -> None:
    dates = site(name)
    day = data.draw(st.dates(date(2026, 1, 1), date(2026, 12, 31)), "began")
    facts = [fact(Kind.RAISED, day, inside=True, quantity=1)]
    done: set[tuple[str, int, int]] = set()
    for _ in range(45):
        day += timedelta(data.draw(st.integers(0, 25), "days on"))
        life = life_of(facts)
        steps = plan(life, "annuum", dates, day)
        assert not done & {step.identity for step in steps}
        open_now = [s for s in steps if s.window.earliest <= day and not s.waits_for]
        if not open_now:
            continue
        step = data.draw(st.sampled_from(open_now), "step")
        if step.kind in ("let_go", "take_cutting"):
            continue
        kind = STEP_RULES[step.kind].done_by
        choice = ONE_CHOICE.get(kind, "")
        if kind is Kind.REVIEWED:
            choice = data.draw(KEPT, "route").value
        elif kind is Kind.WINTER_QUARTERS:
            route = life.route or usual_route(dates, CROPS["annuum"])
            choice = (route if route is Route.GROWING_ON else Route.RESTING).value
        inside = {Kind.WINTER_QUARTERS: True, Kind.PLANTED_OUT: False}.get(kind)
        # What the plan offers can always be written down.
        facts.append(fact(kind, day, inside=inside, choice=choice))
        assert life_of(facts).alive
        done.add(step.identity)

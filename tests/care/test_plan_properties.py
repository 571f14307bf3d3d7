"""Whatever the life, the climate and the day: the plan comes, and it hangs together."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lifecycle.care.catalogue import ROUTINE
from lifecycle.care.outlook import Ground, Nights
from lifecycle.care.plan import next_of_each, plan
from lifecycle.care.seasons import season, season_at
from lifecycle.care.site_dates import MonthDay, SiteDates, typed
from lifecycle.care.unseen import not_seen_yet
from lifecycle.handbook import CROPS
from lifecycle.life.fold import Fact
from lifecycle.life.kinds import Kind
from tests.care.sites import INVENTED, REAL, site
from tests.life.facts import fact, life_of
from tests.life.walks import walks

days_of_year = st.dates(date(2024, 1, 1), date(2024, 12, 31)).map(lambda d: (d.month, d.day))
maybe = st.none() | days_of_year


@st.composite
def any_dates(draw: st.DrawFn) -> SiteDates:
    """A climate that no place need have: days missing, crossed or on 29 February."""
    always_mild = draw(st.booleans())
    always_warm = always_mild and draw(st.booleans())
    nights = {"mild_from": None, "mild_until": None} if always_mild else {}
    return SiteDates(
        southern=draw(st.booleans()),
        year_starts_in=draw(st.integers(1, 12)),
        half_zone=draw(st.sampled_from(["", "3a", "9a", "12b"])),
        extreme_min_c=draw(st.none() | st.floats(-50, 20)),
        warm_from=None if always_warm else draw(maybe),
        warm_until=None if always_warm else draw(maybe),
        mild_from=nights.get("mild_from", draw(maybe)),
        mild_until=nights.get("mild_until", draw(maybe)),
        always_warm=always_warm,
        always_mild=always_mild,
        last_freeze_risk=draw(maybe),
        last_freeze_middle=draw(maybe),
        first_freeze_risk=draw(maybe),
        first_freeze_middle=draw(maybe),
        frosty=draw(st.booleans()),
        freeze_share=draw(st.floats(0, 1)),
        hot_until=draw(maybe),
    )


def text_of(day: MonthDay | None) -> str:
    return "" if day is None else f"{day[0]:02d}-{day[1]:02d}"


@st.composite
def typed_dates(draw: st.DrawFn) -> SiteDates | None:
    return typed(
        half_zone=draw(st.sampled_from(["", "5b", "9a", "10a", "13b"])),
        last_freeze=text_of(draw(maybe)),
        first_freeze=text_of(draw(maybe)),
        warm_from=text_of(draw(maybe)),
        cool_from=text_of(draw(maybe)),
        southern=draw(st.booleans()),
        year_starts_in=draw(st.integers(1, 12)),
    )


climates = (
    st.sampled_from([*REAL, *INVENTED]).map(site)
    | any_dates()
    | typed_dates().filter(lambda dates: dates is not None)
)
seven_nights = st.none() | st.builds(
    Nights,
    st.dates(date(2026, 1, 1), date(2027, 12, 31)),
    st.tuples(*[st.floats(-20, 30)] * 7),
)
sowings = st.sampled_from(
    [
        [fact(Kind.PLANNED, date(2026, 1, 1))],
        [fact(Kind.SOWN, date(2026, 1, 1), quantity=20)],
        [
            fact(Kind.SOWN, date(2026, 1, 1), quantity=20),
            fact(Kind.EMERGED, date(2026, 1, 12), quantity=9),
        ],
    ]
)
species = st.sampled_from(sorted(CROPS))


@given(walks(15), climates, species, seven_nights, st.integers(0, 10))
@settings(max_examples=60, deadline=None)
def test_any_plant_anywhere_on_any_day_of_two_years(
    facts: list[Fact], dates: SiteDates, kind: str, nights: Nights | None, offset: int
) -> None:
    life = life_of(facts)
    for days in range(offset, 731, 11):
        today = facts[-1].happened_on + timedelta(days)
        steps = plan(life, kind, dates, today, nights=nights)
        identities = [step.identity for step in steps]
        assert len(set(identities)) == len(identities)
        kinds = {step.kind for step in steps}
        assert {step.waits_for for step in steps} - {""} <= kinds
        assert all(step.reason and step.source for step in steps)
        best = [step.window.best for step in steps]
        assert best == sorted(best)
        assert life.alive or not steps
        assert not_seen_yet(life, dates, today) in (True, False)


@given(sowings, climates, species, st.none() | st.floats(-10, 45), st.integers(0, 10))
@settings(max_examples=60, deadline=None)
def test_any_sowing_anywhere_on_any_day_of_two_years(
    facts: list[Fact], dates: SiteDates, kind: str, bench_c: float | None, offset: int
) -> None:
    life = life_of(facts, "sowing")
    ground = Ground(temperature_c=bench_c)
    for days in range(offset, 731, 11):
        steps = plan(life, kind, dates, date(2026, 1, 12) + timedelta(days), ground=ground)
        # Old seed is tested and sown; what was sown where it stays is picked and cleared.
        assert len({step.identity for step in steps}) == len(steps) <= 2
        known = {"seed_test", "sow", "emergence", "pot_up", "harvest", "clear"}
        assert {step.kind for step in steps} <= known


@given(walks(15), climates, st.integers(0, 700), st.integers(0, 60))
@settings(max_examples=80, deadline=None)
def test_looking_less_far_leaves_out_only_what_opens_later(
    facts: list[Fact], dates: SiteDates, days: int, ahead: int
) -> None:
    life, today = life_of(facts), facts[-1].happened_on + timedelta(days)
    until = today + timedelta(ahead)
    near = plan(life, "annuum", dates, today, until=until)
    whole = plan(life, "annuum", dates, today)
    assert near == [step for step in whole if step.window.earliest <= until]


@given(walks(15), climates, st.integers(0, 700))
@settings(max_examples=40, deadline=None)
def test_the_same_inputs_give_the_same_plan(facts: list[Fact], dates: SiteDates, days: int) -> None:
    today = facts[-1].happened_on + timedelta(days)
    season.cache_clear()
    first = plan(life_of(facts), "annuum", dates, today)
    season_at(dates, today + timedelta(400))
    assert plan(life_of(list(reversed(facts))), "annuum", replace(dates), today) == first


@given(walks(15), climates, st.integers(0, 700))
@settings(max_examples=40, deadline=None)
def test_a_page_shows_one_step_of_each_series(
    facts: list[Fact], dates: SiteDates, days: int
) -> None:
    whole = plan(life_of(facts), "annuum", dates, facts[-1].happened_on + timedelta(days))
    shown = next_of_each(whole)
    routine = [step.kind for step in shown if step.kind in ROUTINE]
    assert len(set(routine)) == len(routine)
    assert [s for s in shown if s.kind not in ROUTINE] == [
        s for s in whole if s.kind not in ROUTINE
    ]


@given(climates, st.dates(date(2024, 1, 1), date(2032, 1, 1)))
@settings(max_examples=200, deadline=None)
def test_seasons_follow_each_other(dates: SiteDates, day: date) -> None:
    current = season_at(dates, day)
    following = season(dates, current.year + 1)
    assert current.starts <= day < following.starts or following.starts <= current.starts
    assert timedelta(360) <= following.plant_out.best - current.plant_out.best <= timedelta(372)


def test_an_unknown_species_is_an_error() -> None:
    life = life_of([fact(Kind.RAISED, date(2026, 1, 1), quantity=1)])
    with pytest.raises(KeyError):
        plan(life, "tomato", site("typed"), date(2026, 1, 1))

"""The work of one summer of one plant at the typed site, for the tests of its parts.

Typed: last freeze 20 April, first freeze 14 October (one year in ten by 28 September), nights of
55 F from 25 May; lifting falls best on 27 September.
"""

from dataclasses import replace
from datetime import date, timedelta

from lifecycle.care.growing import through_the_summer
from lifecycle.care.outlook import Ground, Outlook, SiteEvent
from lifecycle.care.policy import policy_of
from lifecycle.care.seasons import season_at
from lifecycle.care.site_dates import SiteDates, for_crop
from lifecycle.care.steps import Step
from lifecycle.handbook import CROPS
from lifecycle.life.fold import Fact
from lifecycle.life.kinds import Kind
from tests.care.sites import typed_site
from tests.life.facts import fact, life_of

RAISED, OUT = date(2026, 4, 10), date(2026, 5, 25)


def later(days: int, day: date = OUT) -> date:
    return day + timedelta(days)


def young(count: int = 1, out: date | None = OUT) -> list[Fact]:
    """A plant raised this spring, and set out unless ``out`` is None."""
    facts = [fact(Kind.RAISED, RAISED, inside=True, quantity=count)]
    return facts if out is None else [*facts, fact(Kind.PLANTED_OUT, out, inside=False)]


def kept(replanted: date = OUT) -> list[Fact]:
    """A plant of the year before, rested under a roof and set out again."""
    return [
        fact(Kind.RAISED, date(2025, 4, 10), inside=True, quantity=1),
        fact(Kind.PLANTED_OUT, date(2025, 5, 25), inside=False),
        fact(Kind.LIFTED, date(2025, 9, 27)),
        fact(Kind.WINTER_QUARTERS, date(2025, 9, 28), inside=True, choice="resting"),
        fact(Kind.WOKEN, date(2026, 4, 10)),
        fact(Kind.PLANTED_OUT, replanted, inside=False),
    ]


def stood_out() -> list[Fact]:
    """A plant of the year before that stood out all winter."""
    return [
        fact(Kind.RAISED, date(2025, 4, 10), inside=True, quantity=1),
        fact(Kind.PLANTED_OUT, date(2025, 5, 25), inside=False),
    ]


def outlook_of(
    today: date,
    crop: str = "annuum",
    dates: SiteDates | None = None,
    *,
    ground: Ground | None = None,
    events: tuple[SiteEvent, ...] = (),
    until: date | None = None,
    **chosen: str,
) -> Outlook:
    dates = replace(dates or typed_site(), policy=policy_of(chosen))
    return Outlook(
        for_crop(dates, CROPS[crop]),
        today,
        until=until,
        crop=CROPS[crop],
        ground=ground or Ground(),
        events=events,
    )


def work(
    facts: list[Fact], today: date, crop: str = "annuum", *, out: date | None = None, **more
) -> dict[str, Step]:
    """The steps of the summer by kind; ``out`` for a plant not newly out, the day care resumes."""
    outlook = outlook_of(today, crop, **more)
    life = life_of(facts)
    current = season_at(outlook.dates, max(today, out or life.planted_out_on or OUT))
    out_on = out or life.planted_out_on or current.plant_out.best
    steps = through_the_summer(life, current, out_on, outlook, newly_out=out is None)
    kinds = [step.kind for step in steps]
    assert len(set(kinds)) == len(kinds)
    return {step.kind: step for step in steps}


def window(step: Step, day: date = OUT) -> tuple[int, int, int]:
    """The window in days after ``day``."""
    edges = (step.window.earliest, step.window.best, step.window.latest)
    return tuple((edge - day).days for edge in edges)


def last_day(
    facts: list[Fact], kind: str, first: date, days: int = 400, crop: str = "annuum", **more
) -> date | None:
    """The last day on which a step of a kind is in the plan, from ``first`` on."""
    found = None
    for number in range(days):
        today = first + timedelta(number)
        if kind in work(facts, today, crop, **more):
            found = today
    return found

"""The plan of one plant or sowing: what comes next, when, why and by whose word.

A pure function: the same life, crop, site dates, weather and day give the same steps, and
nothing about a step is stored.
"""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, timedelta
from functools import lru_cache

from lifecycle.care import (
    animals,
    bad_weather,
    cleared_beds,
    flowers,
    growing,
    identity,
    indoors,
    raising,
    spring,
    training,
    winter,
    winter_outcome,
)
from lifecycle.care.bed_rules import ANCHOR, NO_RULES
from lifecycle.care.catalogue import PATIENT, ROUTINE
from lifecycle.care.cleared_beds import allowed, bound
from lifecycle.care.ground_winter import cut_back_in_ground
from lifecycle.care.outlook import Ground, Nights, Outlook, SiteEvent
from lifecycle.care.seasons import OVERDUE, Season, next_planting, season, season_at
from lifecycle.care.site_dates import SiteDates, for_crop
from lifecycle.care.steps import Step
from lifecycle.care.winter import LIFTED, MARGIN, usual_route
from lifecycle.handbook import CROPS, SOURCES, Crop
from lifecycle.life.fold import Life
from lifecycle.life.kinds import Kind
from lifecycle.life.phases import Phase, Route

NOWHERE = Ground()
"""Nothing is known of what it stands in."""


def plan(
    life: Life,
    species: str,
    dates: SiteDates,
    today: date,
    *,
    nights: Nights | None = None,
    until: date | None = None,
    ground: Ground = NOWHERE,
    events: tuple[SiteEvent, ...] = (),
    overrides: Mapping[str, float] | None = None,
    seed_age: int | None = None,
    seed_test: float | None = None,
) -> list[Step]:
    """Return the coming steps of a life, by best day.

    ``species`` is a key of ``handbook.CROPS`` and ``overrides`` a garden's own values for its
    variety, in SI by the fact's name; ``ground`` is what it stands in; ``until`` leaves out
    steps that open later. Raises KeyError for an unknown species.
    """
    crop = _adapted(species, tuple(sorted(overrides.items()))) if overrides else CROPS[species]
    if not life.alive:
        return []
    outlook = Outlook(
        for_crop(dates, crop), today, nights, until, crop, ground, events, seed_age, seed_test
    )
    if life.subject == "sowing":
        steps = raising.plan_sowing(life, crop, outlook)
    else:
        steps = bad_weather.changed(_plan_plant(life, outlook), life, outlook)
        if ground.rules != NO_RULES and not ground.in_pot:
            steps = cleared_beds.obeyed(steps, life, outlook)
    # First flowers may come off inside, and later outside: it is one step, and the sooner stands.
    kept: dict[tuple[str, int, int], Step] = {}
    for step in steps:
        if outlook.reaches(step.window.earliest) and not _past(step, today):
            kept.setdefault(step.identity, step)
    named = [replace(step, source=SOURCES[step.source]) for step in kept.values()]
    return sorted(named, key=lambda step: (step.window.best, step.kind, step.number))


@lru_cache(maxsize=256)
def _adapted(species: str, overrides: tuple[tuple[str, float], ...]) -> Crop:
    return CROPS[species].adapted(dict(overrides))


def next_of_each(steps: list[Step]) -> list[Step]:
    """Keep of every series only its next step, for a page that shows what comes."""
    seen: set[str] = set()
    kept = []
    for step in steps:
        if step.kind in ROUTINE and step.kind in seen:
            continue
        seen.add(step.kind)
        kept.append(step)
    return kept


def _past(step: Step, today: date) -> bool:
    stays = step.kind in ROUTINE or step.kind in PATIENT or step.anchor == ANCHOR
    return not stays and step.window.latest + timedelta(OVERDUE) < today


def _plan_plant(life: Life, outlook: Outlook) -> list[Step]:
    doubts = identity.settle(life, _season_of_fruit(life, outlook), outlook)
    if outlook.crop.group == "partner":  # planned as the sowing it is, not as a plant
        return doubts
    waiting_inside = life.under_roof or life.phase in (Phase.SEEDLING, Phase.HARDENING)
    if waiting_inside:
        return [*doubts, *_from_inside(life, outlook)]
    if life.lifted_on is not None:
        current = bound(_season_before(life.lifted_on, outlook.dates), life, outlook)
        return [*doubts, *winter.from_autumn(life, current, _lifted_route(life), outlook)]
    return [*doubts, *_outside(life, outlook)]


def _season_of_fruit(life: Life, outlook: Outlook) -> Season:
    """Return the season in which a plant next bears: of one under a roof the coming one."""
    if life.under_roof:
        return next_planting(outlook.dates, outlook.today - timedelta(1), outlook.today)
    return season_at(outlook.dates, outlook.today)


def _season_before(lifted_on: date, dates: SiteDates) -> Season:
    """Return the season that a lifting closes: the one before the plant can go out again."""
    return season(dates, next_planting(dates, lifted_on, lifted_on).year - 1)


def _lifted_route(life: Life) -> Route:
    return Route.GROWING_ON if life.route is Route.GROWING_ON else Route.RESTING


def _from_inside(life: Life, outlook: Outlook) -> list[Step]:
    """Plan a plant under a roof: winter care, waking, hardening, planting, then its summer."""
    inside_since = life.quarters_on or life.lifted_on or life.began_on
    kept = any(span.phase not in (Phase.SEEDLING, Phase.HARDENING) for span in life.spans)
    after = inside_since if kept else _day_before_window(life, outlook.dates)
    coming = bound(next_planting(outlook.dates, after, outlook.today), life, outlook)
    steps: list[Step] = []
    waits = "wake" if life.phase is Phase.RESTING else ""
    if _winters_inside(life, kept):
        steps += _indoors(life, inside_since, coming, outlook)
    if kept and life.phase in (Phase.RESTING, Phase.WAKING):
        steps += winter.waking(life, coming, inside_since, outlook)
    if life.phase is Phase.SEEDLING:
        steps.append(raising.first_hardening(coming, life.began_on))
    elif life.phase is not Phase.HARDENING:
        steps.append(spring.harden_again(coming, inside_since, waits))
    if not kept:
        steps += training.topping(life, coming, outlook)
        steps += flowers.first_flowers_inside(life, coming, outlook)
    steps.append(_planting(life, coming, inside_since, outlook, waits, kept=kept))
    if not outlook.reaches(min(coming.plant_out.best, coming.autumn.earliest) - MARGIN):
        return steps
    return steps + _summer_to_come(life, coming, "replant" if kept else "plant_out", outlook)


def _planting(
    life: Life, coming: Season, since: date, outlook: Outlook, waits: str, *, kept: bool
) -> Step:
    if not kept:
        return raising.planting("plant_out", coming, since, outlook, waits, life)
    step = raising.planting("replant", coming, since, outlook, waits, life)
    plots_kept = outlook.ground.rules.plots_kept
    return spring.replanting(step, outlook.policy, plots_kept=plots_kept)


def _winters_inside(life: Life, kept: bool) -> bool:
    """Whether it needs watering and checks under its roof; seedlings of a sowing do not yet."""
    if life.phase is Phase.SEEDLING:
        return Kind.STRUCK_CUTTING in life.dates
    return kept and life.phase is not Phase.HARDENING


def _indoors(life: Life, inside_since: date, coming: Season, outlook: Outlook) -> list[Step]:
    """Plan the winter of a plant under its roof; one in growth is fed, and set by hand too."""
    steps = winter.in_quarters(life, inside_since, coming, outlook)
    if life.phase in (Phase.GROWING, Phase.BEARING):
        current = season(outlook.dates, coming.year - 1)
        ends = indoors.care_ends(coming, Route.GROWING_ON, outlook.policy)
        steps += growing.feeds_inside(life, current, inside_since, outlook, ends=ends)
        steps += flowers.pollination(life, current, inside_since, outlook, ends=ends)
    return steps


def _day_before_window(life: Life, dates: SiteDates) -> date:
    """Return the day after which a plant raised from seed looks for its planting window."""
    current = season_at(dates, life.began_on)
    if life.began_on <= current.plant_out.latest:
        return current.plant_out.best - timedelta(1)
    return life.began_on


def _outside(life: Life, outlook: Outlook) -> list[Step]:
    """Plan a plant that stands where it crops, through its summer and its winter."""
    dates = outlook.dates
    current = bound(season_at(dates, outlook.today), life, outlook)
    out_on = life.planted_out_on or life.began_on
    steps = [
        *bad_weather.after(life, outlook),
        *animals.after_damage(life, current, outlook),
    ]
    if out_on >= current.starts:
        newly_out = life.planted_out_on is not None
        return [*steps, *_summer(life, current, out_on, newly_out, outlook)]
    last = bound(season(dates, current.year - 1), life, outlook)
    if _still_last_season(life, last, current, outlook):
        return [*steps, *_summer(life, last, out_on, out_on >= last.starts, outlook)]
    resumes = growing.feeding_resumes(life, current, frosty=dates.frosty)
    steps += _summer(life, current, resumes, False, outlook)
    if dates.frosty:
        spring_cut = cut_back_in_ground(life, current, dates)
        steps += [] if spring_cut is None else [spring_cut]
        steps += winter_outcome.in_ground(life, current, outlook)
    return steps


def _still_last_season(life: Life, last: Season, current: Season, outlook: Outlook) -> bool:
    """Whether a plant that should have been lifted still stands out, soon after the turn.

    One whose bed should have been clear by a day is late until another season holds the bed.
    """
    if last.lift is None:
        return False
    if last.clear_by is not None and outlook.today <= cleared_beds.last_of_tenancy(last, current):
        return True
    if _route(life, last, outlook) in LIFTED:
        barred = last.bed_end is not None and outlook.today < current.plant_out.earliest
        return barred or not _too_late_to_lift(last, outlook.today)
    return False


def _usual(current: Season, outlook: Outlook) -> Route:
    return allowed(usual_route(outlook.dates, outlook.crop), current)


def _route(life: Life, current: Season, outlook: Outlook) -> Route:
    usual = _usual(current, outlook)
    return allowed(growing.decided_route(life, current, usual=usual), current)


def _too_late_to_lift(current: Season, today: date) -> bool:
    return current.lift is not None and current.lift.latest + timedelta(OVERDUE) < today


def _summer(
    life: Life, current: Season, out_on: date, newly_out: bool, outlook: Outlook
) -> list[Step]:
    """Plan the work, the review and the end of the season of a plant that stands outside."""
    route = _route(life, current, outlook)
    too_late = route in LIFTED and _too_late_to_lift(current, outlook.today)
    if too_late and current.bed_end is None:
        route = Route.IN_GROUND
    usual = _usual(current, outlook)
    ends = growing.last_feed_day(current, route, usual)
    steps = growing.feeds(
        life, current, out_on, outlook, newly_out=newly_out, ends=ends, waits_for=""
    )
    steps += growing.through_the_summer(life, current, out_on, outlook, newly_out=newly_out)
    if newly_out:
        steps += training.topping(life, current, outlook)
    cleared = next((step.window.best for step in steps if step.kind == "clear"), None)
    if cleared is not None:  # its one flush is over: nothing is planned beyond clearing it
        return [step for step in steps if step.window.best <= cleared]
    return [*steps, *_turn(life, current, route, outlook)]


def _turn(life: Life, current: Season, route: Route, outlook: Outlook) -> list[Step]:
    """Plan the decision to keep or let go, and what follows from it."""
    decision = growing.review(life, current) if outlook.crop.perennial else None
    end = winter.from_autumn(life, current, route, outlook)
    return end if decision is None else [decision, *end]


def _summer_to_come(life: Life, coming: Season, kind: str, outlook: Outlook) -> list[Step]:
    """Plan the season of a plant not yet out, as if planted on the best day: all of it waits."""
    fresh = _before_planting(life)
    route = _usual(coming, outlook)
    out_on = coming.plant_out.best
    steps = growing.feeds(
        fresh,
        coming,
        out_on,
        outlook,
        newly_out=True,
        ends=growing.last_feed_day(coming, route),
        waits_for=kind,
    )
    steps += growing.through_the_summer(life, coming, out_on, outlook, newly_out=True)
    steps += _turn(fresh, coming, route, outlook)
    return [step if step.waits_for else replace(step, waits_for=kind) for step in steps]


def _before_planting(life: Life) -> Life:
    """Return the life as it will stand once planted out: nothing of the new season done yet."""
    return replace(life, lifted_on=None, quarters_on=None, dates={}, last_on={}, route=None)

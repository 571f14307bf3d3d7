"""The plan of one plant or sowing: what comes next, when, why and by whose word.

A pure function: the same life, site dates, nights and day give the same steps, and
nothing about a step is stored.
"""

from dataclasses import replace
from datetime import date, timedelta

from lifecycle.care import growing, raising, wintering
from lifecycle.care.outlook import Nights, Outlook
from lifecycle.care.seasons import OVERDUE, Season, next_planting, season, season_at
from lifecycle.care.site_dates import SiteDates
from lifecycle.care.steps import Step, Window
from lifecycle.handbook import CROPS, SOURCES, days
from lifecycle.life.fold import Life
from lifecycle.life.kinds import Kind
from lifecycle.life.phases import Phase, Route

ROUTINE = frozenset({"feed", "winter_water", "winter_check"})
"""Steps of a series. One that nobody did stays due until it is done or its season ends."""

PATIENT = frozenset({"first_feed", "winter_quarters", "wake", "harden_again"})
"""Steps that others wait for: they stay until they are done, or their season ends."""

MARGIN = timedelta(days=120)
"""More than any step opens ahead of the day it hangs on: what lies beyond need not be planned."""

LIFTED = frozenset({Route.RESTING, Route.GROWING_ON})


def plan(
    life: Life,
    species: str,
    dates: SiteDates,
    today: date,
    *,
    bench_c: float | None = None,
    nights: Nights | None = None,
    until: date | None = None,
) -> list[Step]:
    """Return the coming steps of a life, by best day.

    ``species`` is a key of ``handbook.CROPS``; ``bench_c`` the temperature of the place a
    sowing stands in; ``until`` leaves out steps that open later. Raises KeyError for an
    unknown species.
    """
    crop = CROPS[species]
    if not life.alive:
        return []
    outlook = Outlook(dates, today, nights, until, bench_c)
    if life.subject == "sowing":
        steps = raising.plan_sowing(life, crop, outlook)
    else:
        steps = _plan_plant(life, outlook)
    steps = [
        replace(step, source=SOURCES[step.source])
        for step in steps
        if outlook.reaches(step.window.earliest) and not _past(step, today)
    ]
    return sorted(steps, key=lambda step: (step.window.best, step.kind, step.number))


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


def usual_route(dates: SiteDates) -> Route:
    """Return how a pepper usually spends the winter at a site."""
    return Route.IN_GROUND if dates.keeps_in_ground else Route.RESTING


def _past(step: Step, today: date) -> bool:
    stays = step.kind in ROUTINE or step.kind in PATIENT
    return not stays and step.window.latest + timedelta(OVERDUE) < today


def _plan_plant(life: Life, outlook: Outlook) -> list[Step]:
    waiting_inside = life.under_roof or life.phase in (Phase.SEEDLING, Phase.HARDENING)
    if waiting_inside:
        return _from_inside(life, outlook)
    if life.lifted_on is not None:
        current = _season_before(life.lifted_on, outlook.dates)
        return _autumn(life, current, _lifted_route(life), outlook)
    return _outside(life, outlook)


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
    coming = next_planting(outlook.dates, after, outlook.today)
    steps: list[Step] = []
    waits = ""
    if _winters_inside(life, kept):
        steps += _indoor(life, inside_since, coming, outlook)
    if life.phase is Phase.RESTING:
        steps.append(wintering.wake(coming, inside_since, ""))
        waits = "wake"
    if life.phase is Phase.SEEDLING:
        steps.append(raising.first_hardening(coming, life.began_on))
    elif life.phase is not Phase.HARDENING:
        steps.append(wintering.harden_again(coming, inside_since, waits))
    kind = "replant" if kept else "plant_out"
    steps.append(raising.planting(kind, coming, inside_since, outlook, waits))
    if not outlook.reaches(min(coming.plant_out.best, coming.autumn.earliest) - MARGIN):
        return steps
    return steps + _summer_to_come(life, coming, kind, outlook)


def _winters_inside(life: Life, kept: bool) -> bool:
    """Whether it needs watering and checks under its roof; seedlings of a sowing do not yet."""
    if life.phase is Phase.SEEDLING:
        return Kind.STRUCK_CUTTING in life.dates
    return kept and life.phase is not Phase.HARDENING


def _indoor(life: Life, inside_since: date, coming: Season, outlook: Outlook) -> list[Step]:
    """Plan watering and checks, and for a plant just brought in the cutback still to do."""
    route = Route.RESTING if life.phase is Phase.RESTING else Route.GROWING_ON
    winter = season(outlook.dates, coming.year - 1)
    ends = _indoors_until(coming, route)
    steps = wintering.indoor_care(life, winter, inside_since, route, outlook, ends=ends, waits="")
    if life.phase in (Phase.GROWING, Phase.BEARING):
        steps += growing.feeds_inside(life, winter, inside_since, outlook, ends=ends)
    lifted = life.lifted_on
    if lifted is not None and life.since(Kind.CUT_BACK, lifted - timedelta(7)) is None:
        steps.append(wintering.cut_back_lifted(winter, lifted, route, ""))
    return steps


def _indoors_until(coming: Season, route: Route) -> date:
    """Return the day on which winter care ends: resting plants wake, others begin to harden."""
    key = "wake.before_plant_out_min" if route is Route.RESTING else "harden.before_plant_out"
    return coming.plant_out.best - timedelta(days(key))


def _day_before_window(life: Life, dates: SiteDates) -> date:
    """Return the day after which a plant raised from seed looks for its planting window."""
    current = season_at(dates, life.began_on)
    if life.began_on <= current.plant_out.latest:
        return current.plant_out.best - timedelta(1)
    return life.began_on


def _outside(life: Life, outlook: Outlook) -> list[Step]:
    """Plan a plant that stands where it crops, through its summer and its winter."""
    dates = outlook.dates
    current = season_at(dates, outlook.today)
    out_on = life.planted_out_on or life.began_on
    if out_on >= current.starts:
        return _summer(life, current, out_on, life.planted_out_on is not None, outlook)
    if _still_last_season(life, current, dates, outlook.today):
        last = season(dates, current.year - 1)
        return _summer(life, last, out_on, out_on >= last.starts, outlook)
    resumes = growing.feeding_resumes(life, current, frosty=dates.frosty)
    steps = _summer(life, current, resumes, False, outlook)
    spring_cut = wintering.cut_back_in_ground(life, current, dates) if dates.frosty else None
    return steps if spring_cut is None else [*steps, spring_cut]


def _still_last_season(life: Life, current: Season, dates: SiteDates, today: date) -> bool:
    """Whether a plant that should have been lifted still stands out, soon after the turn."""
    last = season(dates, current.year - 1)
    route = growing.decided_route(life, last, keeps_in_ground=dates.keeps_in_ground)
    return route in LIFTED and last.lift is not None and not _too_late_to_lift(last, today)


def _too_late_to_lift(current: Season, today: date) -> bool:
    return current.lift is not None and current.lift.latest + timedelta(OVERDUE) < today


def _summer(
    life: Life, current: Season, out_on: date, newly_out: bool, outlook: Outlook
) -> list[Step]:
    """Plan feeding, the review and the end of the season of a plant that stands outside."""
    route = growing.decided_route(life, current, keeps_in_ground=outlook.dates.keeps_in_ground)
    if route in LIFTED and _too_late_to_lift(current, outlook.today):
        route = Route.IN_GROUND
    ends = growing.last_feed_day(current, route, usual_route(outlook.dates))
    steps = growing.feeds(
        life, current, out_on, outlook, newly_out=newly_out, ends=ends, waits_for=""
    )
    decision = growing.review(life, current)
    if decision is not None:
        steps.append(decision)
    return steps + _autumn(life, current, route, outlook)


def _summer_to_come(life: Life, coming: Season, kind: str, outlook: Outlook) -> list[Step]:
    """Plan the season of a plant not yet out, as if planted on the best day: all of it waits."""
    fresh = _before_planting(life)
    route = usual_route(outlook.dates)
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
    decision = growing.review(fresh, coming)
    if decision is not None:
        steps.append(decision)
    steps += _autumn(fresh, coming, route, outlook)
    return [step if step.waits_for else replace(step, waits_for=kind) for step in steps]


def _before_planting(life: Life) -> Life:
    """Return the life as it will stand once planted out: nothing of the new season done yet."""
    return replace(life, lifted_on=None, quarters_on=None, dates={}, last_on={}, route=None)


def _autumn(life: Life, current: Season, route: Route, outlook: Outlook) -> list[Step]:
    """Plan the end of a season by route, and through the winter to replanting."""
    if route is Route.LET_GO or route is Route.CUTTING:
        return _parting(life, current, route)
    lift = current.lift
    if route is Route.IN_GROUND or lift is None:
        return _in_ground(life, current, outlook)
    steps = wintering.moving_in(life, current, lift, route)
    quarters_on = life.lifted_on or lift.best
    if not outlook.reaches(quarters_on - MARGIN):
        return steps
    coming = season(outlook.dates, current.year + 1)
    ends = _indoors_until(coming, route)
    waits = "winter_quarters"
    steps += wintering.indoor_care(
        _before_planting(life), current, quarters_on, route, outlook, ends=ends, waits=waits
    )
    if route is Route.RESTING:
        steps.append(wintering.wake(coming, quarters_on, waits))
        waits = "wake"
    steps.append(wintering.harden_again(coming, quarters_on, waits))
    replant = raising.planting("replant", coming, quarters_on, outlook, "harden_again")
    steps.append(replace(replant, window=replant.window.not_before(quarters_on)))
    return steps


def _in_ground(life: Life, current: Season, outlook: Outlook) -> list[Step]:
    following = season(outlook.dates, current.year + 1)
    steps = wintering.ground_care(life, current, following, outlook)
    frosty = outlook.dates.frosty
    cut = wintering.cut_back_in_ground(life, following if frosty else current, outlook.dates)
    if cut is not None:
        steps.append(cut)
    return steps


def _parting(life: Life, current: Season, route: Route) -> list[Step]:
    window = current.autumn
    if route is Route.CUTTING:
        kind, why = (
            "take_cutting",
            "Kept as a cutting: take it from sound young wood before the cold.",
        )
        ahead = Window(
            window.earliest - timedelta(21), window.earliest, max(window.best, window.earliest)
        )
        if life.since(Kind.CUTTING_TAKEN, ahead.earliest - timedelta(30)) is not None:
            kind, why, ahead = (
                "let_go",
                "Its cuttings are taken: clear the parent before the frost.",
                window,
            )
    else:
        kind, why, ahead = "let_go", "Not kept: save ripe seed, then clear it.", window
    since = ahead.earliest - timedelta(60)
    return [Step(kind, current.year, 1, ahead, since, "the winter", why, "practice")]

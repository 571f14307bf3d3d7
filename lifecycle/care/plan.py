"""The plan of one plant or sowing: what comes next, when, why and by whose word.

A pure function: the same life, site dates, nights and day give the same steps, and
nothing about a step is stored.
"""

from dataclasses import replace
from datetime import date, timedelta

from lifecycle.care import growing, raising, wintering
from lifecycle.care.raising import Nights
from lifecycle.care.seasons import OVERDUE, Season, next_planting, season, season_at
from lifecycle.care.site_dates import SiteDates
from lifecycle.care.steps import Step, Window
from lifecycle.handbook import CROPS, SOURCES, days
from lifecycle.life.fold import Life
from lifecycle.life.kinds import Kind
from lifecycle.life.phases import Phase, Route

ROUTINE = frozenset({"feed", "winter_water", "winter_check"})
"""Steps of a series. One that nobody did stays due until it is done or its season ends."""


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
    if life.subject == "sowing":
        steps = raising.plan_sowing(life, crop, dates, today, bench_c)
    else:
        steps = _plan_plant(life, dates, today, nights)
    steps = [
        replace(step, source=SOURCES[step.source])
        for step in steps
        if (until is None or step.window.earliest <= until) and not _past(step, today)
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
    return step.kind not in ROUTINE and step.window.latest + timedelta(OVERDUE) < today


def _plan_plant(life: Life, dates: SiteDates, today: date, nights: Nights | None) -> list[Step]:
    waiting_inside = life.under_roof or life.phase in (Phase.SEEDLING, Phase.HARDENING)
    if waiting_inside:
        return _from_inside(life, dates, today, nights)
    if life.lifted_on is not None:
        current = season_at(dates, life.lifted_on)
        return _autumn(life, current, dates, _lifted_route(life), today, nights)
    return _outside(life, dates, today, nights)


def _lifted_route(life: Life) -> Route:
    return Route.GROWING_ON if life.route is Route.GROWING_ON else Route.RESTING


def _from_inside(life: Life, dates: SiteDates, today: date, nights: Nights | None) -> list[Step]:
    """Plan a plant under a roof: winter care, waking, hardening, planting, then its summer."""
    inside_since = life.quarters_on or life.lifted_on or life.began_on
    kept = life.times_planted_out > 0 or life.phase in (
        Phase.RESTING,
        Phase.WAKING,
        Phase.GROWING,
        Phase.BEARING,
    )
    after = inside_since if kept else _day_before_window(life, dates)
    coming = next_planting(dates, after, today)
    steps: list[Step] = []
    waits = ""
    if kept and life.phase in (Phase.RESTING, Phase.GROWING, Phase.BEARING):
        steps += _indoor(life, dates, inside_since, coming)
    if life.phase is Phase.RESTING:
        steps.append(wintering.wake(coming, inside_since, ""))
        waits = "wake"
    if life.phase is Phase.SEEDLING:
        steps.append(raising.first_hardening(coming, life.began_on))
    elif life.phase is not Phase.HARDENING:
        steps.append(wintering.harden_again(coming, inside_since, waits))
    kind = "replant" if kept or life.times_planted_out else "plant_out"
    steps.append(raising.planting(kind, coming, inside_since, today, nights, waits))
    return steps + _summer(life, coming, coming.plant_out.best, dates, True, kind)


def _indoor(life: Life, dates: SiteDates, inside_since: date, coming: Season) -> list[Step]:
    """Plan watering and checks, and for a plant just brought in the cutback still to do."""
    route = Route.RESTING if life.phase is Phase.RESTING else Route.GROWING_ON
    winter = season_at(dates, inside_since)
    if route is Route.RESTING:
        ends = coming.plant_out.best - timedelta(days("wake.before_plant_out_min"))
    else:
        ends = coming.plant_out.best - timedelta(days("harden.before_plant_out"))
    steps = wintering.indoor_care(life, winter, inside_since, route, ends, "")
    if route is Route.GROWING_ON:
        steps += growing.feeds(life, winter, inside_since, newly_out=False, ends=ends, waits_for="")
    lifted = life.lifted_on
    if lifted is not None and life.since(Kind.CUT_BACK, lifted - timedelta(7)) is None:
        steps.append(wintering.cut_back_lifted(winter, lifted, route, ""))
    return steps


def _day_before_window(life: Life, dates: SiteDates) -> date:
    """Return the day after which a plant raised from seed looks for its planting window."""
    current = season_at(dates, life.began_on)
    if life.began_on <= current.plant_out.latest:
        return current.plant_out.best - timedelta(1)
    return life.began_on


def _outside(life: Life, dates: SiteDates, today: date, nights: Nights | None) -> list[Step]:
    """Plan a plant that stands where it crops, through its summer and its winter."""
    current = season_at(dates, today)
    out_on = life.planted_out_on or life.began_on
    if out_on >= current.starts:
        return _summer(
            life, current, out_on, dates, life.planted_out_on is not None, "", today, nights
        )
    if _still_last_season(life, current, dates, today):
        current = season(dates, current.year - 1)
        return _summer(life, current, out_on, dates, out_on >= current.starts, "", today, nights)
    resumes = current.spring_freeze_risk or current.plant_out.earliest
    steps = _summer(life, current, resumes, dates, False, "", today, nights)
    spring_cut = wintering.cut_back_in_ground(life, current, dates) if dates.frosty else None
    return steps if spring_cut is None else [*steps, spring_cut]


def _still_last_season(life: Life, current: Season, dates: SiteDates, today: date) -> bool:
    """Whether a plant that should have been lifted still stands out, soon after the turn."""
    last = season(dates, current.year - 1)
    route = growing.decided_route(life, last, keeps_in_ground=dates.keeps_in_ground)
    lifts = route in (Route.RESTING, Route.GROWING_ON) and last.lift is not None
    return lifts and last.lift is not None and today <= last.lift.latest + timedelta(OVERDUE)


def _summer(
    life: Life,
    current: Season,
    out_on: date,
    dates: SiteDates,
    newly_out: bool,
    waits: str,
    today: date | None = None,
    nights: Nights | None = None,
) -> list[Step]:
    route = growing.decided_route(life, current, keeps_in_ground=dates.keeps_in_ground)
    ends = growing.last_feed_day(current, route)
    coming = life if not waits else _before_planting(life)
    steps = growing.feeds(coming, current, out_on, newly_out=newly_out, ends=ends, waits_for=waits)
    decision = growing.review(coming, current)
    if decision is not None:
        steps.append(decision if not waits else replace(decision, waits_for=waits))
    if waits:
        route = usual_route(dates)
        later = _autumn(coming, current, dates, route, None, None)
        return steps + [
            step if step.waits_for else replace(step, waits_for=waits) for step in later
        ]
    return steps + _autumn(life, current, dates, route, today, nights)


def _before_planting(life: Life) -> Life:
    """Return the life as it will stand once planted out: nothing of the new season done yet."""
    return replace(life, lifted_on=None, quarters_on=None, dates={}, last_on={}, route=None)


def _autumn(
    life: Life,
    current: Season,
    dates: SiteDates,
    route: Route,
    today: date | None,
    nights: Nights | None,
) -> list[Step]:
    """Plan the end of a season by route, and through the winter to replanting."""
    following = season(dates, current.year + 1)
    if route is Route.LET_GO or route is Route.CUTTING:
        return _parting(life, current, route)
    lift = current.lift
    if route is Route.IN_GROUND or lift is None:
        return _in_ground(life, current, following, dates)
    steps = wintering.moving_in(life, current, lift, route)
    quarters_on = life.lifted_on or lift.best
    coming = following
    waking_from = coming.plant_out.best
    if route is Route.RESTING:
        ends = waking_from - timedelta(days("wake.before_plant_out_min"))
    else:
        ends = waking_from - timedelta(days("harden.before_plant_out"))
    waits = "winter_quarters"
    steps += wintering.indoor_care(_before_planting(life), current, quarters_on, route, ends, waits)
    if route is Route.RESTING:
        steps.append(wintering.wake(coming, quarters_on, waits))
        waits = "wake"
    steps.append(wintering.harden_again(coming, quarters_on, waits))
    steps.append(
        raising.planting(
            "replant", coming, quarters_on, today or quarters_on, nights, "harden_again"
        )
    )
    return steps


def _in_ground(life: Life, current: Season, following: Season, dates: SiteDates) -> list[Step]:
    steps = wintering.ground_care(life, current, dates, following)
    cut = wintering.cut_back_in_ground(life, following if dates.frosty else current, dates)
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

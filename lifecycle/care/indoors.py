"""Winter under a roof: water, checks, light, and washing salts out of pots that are fed."""

from datetime import date, timedelta

from lifecycle.care.outlook import Outlook
from lifecycle.care.policy import SETTINGS, Policy
from lifecycle.care.quarters import growing_room, resting_room
from lifecycle.care.routine import Routine
from lifecycle.care.seasons import Season
from lifecycle.care.spring import wake_window
from lifecycle.care.steps import Step
from lifecycle.handbook import days, fact
from lifecycle.life.fold import Life
from lifecycle.life.kinds import Kind
from lifecycle.life.phases import OUTSIDE, Phase, Route

_IN_GROWTH = {
    Phase.WAKING: "It is waking: more water than at rest, about weekly.",
    Phase.SEEDLING: "A young plant in winter: keep it bright and water about weekly.",
}


def indoor_care(
    life: Life,
    current: Season,
    quarters_on: date,
    route: Route,
    outlook: Outlook,
    *,
    ends: date,
    waits: str,
) -> list[Step]:
    """Return the routines of winter quarters from ``quarters_on`` until ``ends``.

    ``waits`` is the step that must come first, or "" for a plant that is in its quarters.
    """
    if not outlook.reaches(quarters_on):
        return []
    growing = route is Route.GROWING_ON
    routines = [
        _weekly_water(life) if growing else _resting_water(outlook.policy),
        _check(life, outlook, growing=growing, settled=not waits),
    ]
    if growing and life.phase in OUTSIDE:
        routines.append(_leaching())
    return [
        step
        for routine in routines
        for step in routine.steps(life, current, quarters_on, outlook, ends=ends, waits=waits)
    ]


def care_ends(coming: Season, route: Route, policy: Policy) -> date:
    """Return the day on which winter care ends: at rest with waking, else with hardening."""
    if route is Route.RESTING:
        return wake_window(coming, policy).latest
    return coming.plant_out.best - timedelta(days("harden.before_plant_out"))


def _weekly_water(life: Life) -> Routine:
    every = days("winter.water_grow")
    reason = _IN_GROWTH.get(life.phase, "It goes on growing: water about weekly.")
    return Routine("winter_water", Kind.WATERED, (every, every, every + 3), reason, "bucks")


def _resting_water(policy: Policy) -> Routine:
    choice = policy.of("winter_water")
    if choice == "two_weeks":
        gaps = (
            days("rest_water.often_min"),
            days("rest_water.often"),
            days("rest_water.often_max"),
        )
        often, others = "two to three times a month", "every three weeks"
    else:
        gaps = (
            days("winter.water_rest_min"),
            days("winter.water_rest"),
            days("winter.water_rest_max"),
        )
        often, others = "about every three weeks", "two to three times a month"
    reason = (
        f"At rest: {often}, never bone dry, never wet, and no feed until it grows. "
        f"Others water {others}."
    )
    source = SETTINGS["winter_water"].choice(choice).source
    return Routine("winter_water", Kind.WATERED, gaps, reason, source, "winter_water")


def _check(life: Life, outlook: Outlook, *, growing: bool, settled: bool) -> Routine:
    every = days("winter.check_roof")
    words = [
        _room(life, outlook, growing=growing) if settled else "",
        "Mites and aphids show first under leaves and on new tips; press stems for soft spots.",
        _light(outlook) if growing and settled else "",
    ]
    reason = " ".join(word for word in words if word)
    return Routine("winter_check", Kind.WINTER_CHECK, (every, every, every + 3), reason, "practice")


def _room(life: Life, outlook: Outlook, *, growing: bool) -> str:
    if outlook.bench_c is None:
        return ""
    if growing:
        return growing_room(outlook.bench_c, waking=life.phase is Phase.WAKING).reason
    return resting_room(outlook.bench_c).reason


def _light(outlook: Outlook) -> str:
    if outlook.ground.bright:
        return ""
    hours = fact("indoor_light.hours")
    return (
        "This place is not marked bright: growth wants a sunny window, or a lamp for "
        f"{hours.value:.0f} to {hours.to:.0f} hours a day."
    )


def _leaching() -> Routine:
    gaps = (days("leaching.every_min"), days("leaching.every"), days("leaching.every_max"))
    reason = (
        "Feed and hard water leave salts in a pot. About every two months run clear water through, "
        "twice as much as the pot holds, and let it drain; a white crust says it is due."
    )
    return Routine("leach", Kind.LEACHED, gaps, reason, "practice")

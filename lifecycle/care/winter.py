"""The end of a season and the winter of one plant, by route, up to its replanting."""

from dataclasses import replace
from datetime import date, timedelta

from lifecycle.care import animals, autumn, ground_winter, indoors, raising, spring, winter_outcome
from lifecycle.care.moving_in import cut_back_lifted, into_the_open, moving_in
from lifecycle.care.outlook import Outlook
from lifecycle.care.seasons import Season, season
from lifecycle.care.site_dates import SiteDates
from lifecycle.care.steps import Step
from lifecycle.handbook import Crop
from lifecycle.life.fold import Life
from lifecycle.life.kinds import Kind
from lifecycle.life.phases import Phase, Route

LIFTED = frozenset({Route.RESTING, Route.GROWING_ON})
"""The routes of a plant that is brought in."""

MARGIN = timedelta(days=120)
"""More than any step opens ahead of the day it hangs on: what lies beyond need not be planned."""


def usual_route(dates: SiteDates, crop: Crop) -> Route:
    """Return how a crop usually spends the winter at a site, until somebody decides.

    Only peppers are kept: tomatoes and eggplants live as long in warmth, but column advice is
    that they are seldom worth it (T. Kucak, a weak source).
    """
    if crop.group != "pepper":
        return Route.LET_GO
    return Route.IN_GROUND if dates.keeps_in_ground else Route.RESTING


def from_autumn(life: Life, current: Season, route: Route, outlook: Outlook) -> list[Step]:
    """Return the end of a season by route, and the winter up to replanting."""
    steps = autumn.before_winter(life, current, route, outlook)
    if route in autumn.NOT_KEPT:
        return [*steps, *autumn.parting(life, current, route, outlook)]
    lift = current.lift
    if route is Route.IN_GROUND or lift is None:
        return [*steps, *_in_ground(life, current, outlook)]
    if current.bed_end is not None and current.bed_end.in_open:
        return [*steps, *into_the_open(life, current, lift, outlook)]
    steps += moving_in(life, current, lift, route, outlook)
    quarters_on = life.lifted_on or lift.best
    if not outlook.reaches(quarters_on):
        return steps
    return [*steps, *_winter_to_come(life, current, route, quarters_on, outlook)]


def _in_ground(life: Life, current: Season, outlook: Outlook) -> list[Step]:
    following = season(outlook.dates, current.year + 1)
    frosty = outlook.dates.frosty
    cut = ground_winter.cut_back_in_ground(life, following if frosty else current, outlook.dates)
    return [
        *animals.guard(life, current, outlook),
        *ground_winter.ground_care(life, current, following, outlook),
        *([] if cut is None else [cut]),
        *winter_outcome.in_ground(life, following, outlook),
    ]


def _winter_to_come(
    life: Life, current: Season, route: Route, quarters_on: date, outlook: Outlook
) -> list[Step]:
    """Return the winter of a plant not yet in its quarters: all of it waits for them."""
    coming = season(outlook.dates, current.year + 1)
    # Whatever its phase today, it goes in as a plant in growth.
    fresh = replace(life, phase=Phase.GROWING)
    waits, ends = "winter_quarters", indoors.care_ends(coming, route, outlook.policy)
    steps = indoors.indoor_care(fresh, current, quarters_on, route, outlook, ends=ends, waits=waits)
    if route is Route.RESTING:
        steps += waking(fresh, coming, quarters_on, outlook, waits)
        waits = "wake"
    steps.append(spring.harden_again(coming, quarters_on, waits))
    replant = raising.planting("replant", coming, quarters_on, outlook, "harden_again")
    replant = replace(replant, window=replant.window.not_before(quarters_on))
    kept = outlook.ground.rules.plots_kept
    return [*steps, spring.replanting(replant, outlook.policy, plots_kept=kept)]


def in_quarters(life: Life, inside_since: date, coming: Season, outlook: Outlook) -> list[Step]:
    """Return the care of a plant under its winter roof, and the cutback still to do.

    ``coming`` is the season in which it goes out again.
    """
    route = Route.RESTING if life.phase is Phase.RESTING else Route.GROWING_ON
    current = season(outlook.dates, coming.year - 1)
    ends = indoors.care_ends(coming, route, outlook.policy)
    steps = indoors.indoor_care(life, current, inside_since, route, outlook, ends=ends, waits="")
    lifted = life.lifted_on
    if lifted is not None and life.since(Kind.CUT_BACK, lifted - timedelta(7)) is None:
        steps.append(cut_back_lifted(current, lifted, route, outlook.policy, ""))
    return steps


def waking(
    life: Life, coming: Season, inside_since: date, outlook: Outlook, waits: str = ""
) -> list[Step]:
    """Return waking, repotting and the look for first growth of a plant that rests or wakes.

    ``waits`` is what the waking waits for. The other two wait for it, but not once it is done.
    """
    window = spring.wake_window(coming, outlook.policy).not_before(inside_since)
    if life.phase is Phase.WAKING:
        steps, then = [], ""
    elif outlook.reaches(window.earliest):
        steps, then = [spring.wake(coming, inside_since, outlook.policy, waits)], "wake"
    else:
        return []
    return [
        *steps,
        *spring.repot(life, coming, inside_since, outlook, then),
        *winter_outcome.indoors(life, coming, inside_since, outlook, then),
    ]

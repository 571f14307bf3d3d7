"""The winter, by route: in the ground, lifted and resting, lifted and growing on."""

from datetime import date, timedelta

from lifecycle.care.outlook import Outlook
from lifecycle.care.quarters import resting_room
from lifecycle.care.seasons import Season, hardening, waking
from lifecycle.care.site_dates import SiteDates
from lifecycle.care.steps import Step, Window, ahead_of, around
from lifecycle.handbook import days, fact
from lifecycle.life.fold import Life
from lifecycle.life.kinds import Kind
from lifecycle.life.phases import Phase, Route

MOST_CHECKS = 60
AFTER_FROST = 2
"""Number of the cutback after the frosts; one at lifting or after the crop is number 1."""


_IN_GROWTH = {
    Phase.WAKING: "It is waking: more water than at rest, about weekly.",
    Phase.SEEDLING: "A young plant in winter: keep it bright and water about weekly.",
}


def moving_in(life: Life, current: Season, lift: Window, route: Route) -> list[Step]:
    """Return pest check, lifting, cutting back and the move into winter quarters."""
    steps = []
    checked_from = lift.best - timedelta(days("pest_check.before_lift_max") + 7)
    if life.lifted_on is None and life.since(Kind.PEST_CHECK, checked_from) is None:
        steps.append(_pest_check(current, lift, checked_from))
    since = life.planted_out_on or life.began_on
    if life.lifted_on is None:
        steps.append(
            Step(
                "lift", current.year, 1, lift, since, "cool nights", current.lift_reason, "sturgis"
            )
        )
    lifted_on = life.lifted_on or lift.best
    waits = "" if life.lifted_on else "lift"
    if life.since(Kind.CUT_BACK, lifted_on - timedelta(7)) is None:
        steps.append(cut_back_lifted(current, lifted_on, route, waits))
    steps.append(_into_quarters(current, lifted_on, route, waits))
    return steps


def _pest_check(current: Season, lift: Window, counts_from: date) -> Step:
    window = ahead_of(
        lift.best,
        days("pest_check.before_lift_max"),
        days("pest_check.before_lift"),
        days("pest_check.before_lift_min"),
    )
    reason = (
        f"Two to four weeks before lifting, best on {{{lift.best}}} here: look under the leaves, "
        "hose them off, treat what is found, and leave heavily infested plants out."
    )
    return Step("pest_check", current.year, 1, window, counts_from, "lifting", reason, "kyweb")


def cut_back_lifted(current: Season, lifted_on: date, route: Route, waits: str) -> Step:
    """Return the cutback of a lifted plant: hard if it rests, light if it grows on."""
    if route is Route.GROWING_ON:
        window = around(lifted_on, 0, days("cut_back.grow_on_days"))
        reason = (
            "It goes on growing indoors: shorten long shoots to fit the space and take off "
            "damaged leaves. A resting plant would be cut much harder."
        )
        source = "practice"
    else:
        window = around(lifted_on, 0, days("cut_back.leaf_drop_days"))
        height, stump = fact("cut_back.rest_height"), fact("cut_back.stump_height")
        reason = (
            f"Cut to about {{{height.si:.1f} cm}}, leaving a Y, at potting or after the leaves "
            f"drop, and take off all fruit. Others leave a stump of {{{stump.si:.1f} cm}}."
        )
        source = height.source
    return Step(
        "cut_back",
        current.year,
        1,
        window,
        lifted_on - timedelta(7),
        "lifting",
        reason,
        source,
        waits,
    )


def _into_quarters(current: Season, lifted_on: date, route: Route, waits: str) -> Step:
    latest = lifted_on + timedelta(days("quarters.within"))
    if current.first_freeze_risk is not None:
        latest = min(latest, current.first_freeze_risk - timedelta(1))
    latest = max(latest, lifted_on)
    if route is Route.GROWING_ON:
        low, high = fact("quarters.grow_low"), fact("quarters.grow_high")
        where = "bright"
    else:
        low, high = fact("quarters.rest_low"), fact("quarters.rest_high")
        where = "with a little light"
    reason = (
        f"Before the nights that hurt: a room at {{{low.si:.2f} C}} to "
        f"{{{high.si:.2f} C}}, {where}. "
        f"Never below {{{fact('quarters.rest_low').si:.2f} C}}."
    )
    window = Window(lifted_on, lifted_on, latest)
    return Step(
        "winter_quarters", current.year, 1, window, lifted_on, "lifting", reason, low.source, waits
    )


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
    """Return watering and checks in winter quarters until ``ends``."""
    if route is Route.GROWING_ON:
        gaps = (days("winter.water_grow"),) * 2 + (days("winter.water_grow") + 3,)
        why, source = _IN_GROWTH.get(life.phase, "It goes on growing: water about weekly."), "bucks"
    else:
        gaps = (
            days("winter.water_rest_min"),
            days("winter.water_rest"),
            days("winter.water_rest_max"),
        )
        why, source = "At rest: every two to three weeks, never bone dry, never wet.", "bucks"
    water = _series(
        "winter_water",
        Kind.WATERED,
        life,
        current,
        quarters_on,
        gaps,
        outlook,
        ends=ends,
        why=(why, source),
        waits=waits,
    )
    every = days("winter.check_roof")
    why = "Mites and aphids show first under leaves and on new tips; press stems for soft spots."
    if route is Route.RESTING and not waits and outlook.bench_c is not None:
        why = f"{resting_room(outlook.bench_c).reason} {why}"
    checks = _series(
        "winter_check",
        Kind.WINTER_CHECK,
        life,
        current,
        quarters_on,
        (every, every, every + 3),
        outlook,
        ends=ends,
        why=(why, "practice"),
        waits=waits,
    )
    return [*water, *checks]


def ground_care(life: Life, current: Season, following: Season, outlook: Outlook) -> list[Step]:
    """Return the winter patrol of plants that stay in the ground of a frosty site."""
    cold_from = current.first_freeze_risk or (current.lift.best if current.lift else None)
    if not outlook.dates.frosty or cold_from is None:
        return []
    ends = following.spring_freeze_risk or following.plant_out.earliest
    every = days("winter.check_ground")
    why = (
        "Frost may come: see that covers, pegs and thermometer are at hand, that stems are sound, "
        "and leave frosted growth on until spring."
    )
    starts = cold_from - timedelta(every)
    return _series(
        "winter_check",
        Kind.WINTER_CHECK,
        life,
        current,
        starts,
        (every, every, every + 7),
        outlook,
        ends=ends,
        why=(why, "ucce"),
        waits="",
    )


def _series(
    kind: str,
    entry: Kind,
    life: Life,
    current: Season,
    starts: date,
    gaps: tuple[int, int, int],
    outlook: Outlook,
    *,
    ends: date,
    why: tuple[str, str],
    waits: str,
) -> list[Step]:
    """Return the steps of a routine; after one that is overdue the next is counted from today."""
    done = [day for day in life.dates.get(entry, []) if day >= starts]
    last = done[-1] if done else starts
    if life.phase is Phase.WAKING:  # the shorter interval begins with the waking
        last = max(last, life.phase_since)
    steps: list[Step] = []
    for number in range(len(done) + 1, len(done) + MOST_CHECKS):
        window = Window(*(last + timedelta(gap) for gap in gaps))
        if window.best > ends or not outlook.reaches(window.earliest):
            break
        reason = why[0] if steps else f"{why[0]} Last on {{{last}}}."
        waits_for = kind if steps else waits
        steps.append(
            Step(
                kind,
                current.year,
                number,
                window,
                starts,
                "the time before",
                reason,
                why[1],
                waits_for,
            )
        )
        last = max(window.best, outlook.today)
    return steps


def wake(coming: Season, since: date, waits: str) -> Step:
    """Return the waking of a resting plant, anchored on planting out."""
    reason = (
        f"One to two months before planting out, best on {{{coming.plant_out.best}}} here: warmer, "
        "brighter, more water. Others wake a month before the last frost"
    )
    reason += f", here {{{coming.spring_freeze_middle}}}." if coming.spring_freeze_middle else "."
    return Step(
        "wake",
        coming.year,
        1,
        waking(coming.plant_out).not_before(since),
        since,
        "planting out",
        reason,
        "bucks",
        waits,
    )


def harden_again(coming: Season, since: date, waits: str) -> Step:
    """Return the second hardening of a kept plant."""
    below = fact("harden.bring_in_below").si
    reason = (
        f"Two weeks before replanting, best on {{{coming.plant_out.best}}} here. Shade and "
        f"shelter first; bring it in below {{{below:.0f} C}}."
    )
    return Step(
        "harden_again",
        coming.year,
        1,
        hardening(coming.plant_out).not_before(since),
        since,
        "planting out",
        reason,
        "hennepin",
        waits,
    )


def cut_back_in_ground(life: Life, current: Season, dates: SiteDates) -> Step | None:
    """Return the cutback of a plant that stays out: after the frosts, or after a heavy crop.

    In a frosty site not before the frost: late cuts make soft growth, and frosted leaves
    shelter what is below until spring.
    """
    if dates.frosty:
        return _spring_cut(life, current)
    half = days("cut_back.ratoon_window")
    window = around(current.autumn.best, half, half)
    if life.since(Kind.CUT_BACK, window.earliest - timedelta(30)) is not None:
        return None
    low, high = fact("cut_back.ratoon_low"), fact("cut_back.ratoon_high")
    reason = (
        f"After a heavy crop or in early autumn: to {{{low.si:.0f} cm}} to {{{high.si:.0f} cm}}. "
        "Fewer than one winter in ten brings a freeze here."
    )
    return Step(
        "cut_back",
        current.year,
        1,
        window,
        window.earliest - timedelta(30),
        "the crop",
        reason,
        low.source,
    )


def _spring_cut(life: Life, current: Season) -> Step | None:
    middle, risk = current.spring_freeze_middle, current.spring_freeze_risk
    earliest = middle or risk or current.plant_out.earliest
    best = max(risk or earliest, earliest)
    window = Window(earliest, best, best + timedelta(days("cut_back.spring_after")))
    counts_from = window.earliest - timedelta(30)
    stood_out = life.planted_out_on or life.began_on
    if stood_out >= current.starts or life.since(Kind.CUT_BACK, counts_from) is not None:
        return None
    reason = (
        f"Not before the frosts are past, one year in ten later than {{{best}}}: scratch the bark, "
        "cut to green wood, then feed and water. Late shoots are not yet a dead plant."
    )
    return Step(
        "cut_back",
        current.year,
        AFTER_FROST,
        window,
        counts_from,
        "the last frost",
        reason,
        "ucce",
    )

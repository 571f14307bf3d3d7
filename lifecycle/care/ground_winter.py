"""Winter in the ground: the zone, the patrol, and the cutback after the frosts or the crop."""

from datetime import date, timedelta

from lifecycle.care.outlook import Outlook
from lifecycle.care.policy import SETTINGS
from lifecycle.care.readiness import SLACK_C
from lifecycle.care.routine import Routine
from lifecycle.care.seasons import Season
from lifecycle.care.site_dates import SiteDates
from lifecycle.care.steps import Step, Window, around
from lifecycle.handbook import days, fact
from lifecycle.life.fold import Life
from lifecycle.life.kinds import Kind

AFTER_FROST = 2
"""Number of the cutback after the frosts; one at lifting or after the crop is number 1."""


def zone_words(dates: SiteDates) -> str:
    """Return whether a pepper may stay in the ground here, or "" where no zone is known."""
    if dates.extreme_min_c is None:
        return ""
    zone = f"Zone {dates.half_zone}" if dates.half_zone else "This zone"
    if dates.extreme_min_c >= fact("patrol.zone_ten").si - SLACK_C:
        return f"{zone} may keep peppers in the ground."
    if dates.keeps_in_ground:
        return f"{zone} may keep peppers in the ground, with covers on frost nights."
    return f"{zone} is too cold to keep peppers in the ground: one that comes back is a bonus."


def frost_starts(current: Season) -> date | None:
    """Return the day from which frost is looked for, or None where none comes."""
    if current.first_freeze_risk is not None:
        return current.first_freeze_risk
    return current.lift.best if current.lift is not None else None


def ground_care(life: Life, current: Season, following: Season, outlook: Outlook) -> list[Step]:
    """Return the winter patrol of plants that stay in the ground of a frosty site."""
    cold_from = frost_starts(current)
    if not outlook.dates.frosty or cold_from is None:
        return []
    ends = following.spring_freeze_risk or following.plant_out.earliest
    every = days("winter.check_ground")
    starts = cold_from - timedelta(every)
    if not outlook.reaches(starts):
        return []
    words = (
        "Frost may come: see that covers, pegs and thermometer are at hand, that stems are sound, "
        "and leave frosted growth on until spring.",
        _mulch(outlook),
        zone_words(outlook.dates),
    )
    patrol = Routine(
        "winter_check",
        Kind.WINTER_CHECK,
        (every, every, every + 7),
        " ".join(word for word in words if word),
        SETTINGS["mulch_and_frost"].choice(outlook.policy.of("mulch_and_frost")).source,
        "mulch_and_frost",
    )
    return patrol.steps(life, current, starts, outlook, ends=ends, waits="")


def _mulch(outlook: Outlook) -> str:
    """Return what to do with mulch, by what is to be saved: the top or the crown."""
    if outlook.ground.in_pot:
        return "Group pots by a warm wall or under the eaves, and mulch their sides."
    hard, deep = fact("patrol.hard_freeze"), fact("patrol.mulch_depth")
    if outlook.policy.of("mulch_and_frost") == "save_top":
        light = fact("patrol.light_freeze")
        return (
            f"To save the top from a light frost, {{{light.si:.2f} C}} to "
            f"{{{light.si_high:.2f} C}}, rake mulch away the day before: bare damp soil gives off "
            f"heat. To save only the crown from {{{hard.si:.2f} C}} or less, others leave it."
        )
    return (
        f"To save the crown from a hard freeze, {{{hard.si:.2f} C}} or less, leave "
        f"{{{deep.si:.1f} cm}} to {{{deep.si_high:.1f} cm}} of mulch or more on the roots, off the "
        "stem. To save the top from a light frost, others rake it away."
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
    since = window.earliest - timedelta(30)
    if life.since(Kind.CUT_BACK, since) is not None:
        return None
    low, high = fact("cut_back.ratoon_low"), fact("cut_back.ratoon_high")
    reason = (
        f"After a heavy crop or in early autumn: to {{{low.si:.0f} cm}} to {{{high.si:.0f} cm}}. "
        "Fewer than one winter in ten brings a freeze here."
    )
    return Step("cut_back", current.year, 1, window, since, "the crop", reason, low.source)


def _spring_cut(life: Life, current: Season) -> Step | None:
    middle, risk = current.spring_freeze_middle, current.spring_freeze_risk
    earliest = middle or risk or current.plant_out.earliest
    best = max(risk or earliest, earliest)
    window = Window(earliest, best, best + timedelta(days("cut_back.spring_after")))
    since = window.earliest - timedelta(30)
    stood_out = life.planted_out_on or life.began_on
    if stood_out >= current.starts or life.since(Kind.CUT_BACK, since) is not None:
        return None
    reason = (
        f"Not before the frosts are past, one year in ten later than {{{best}}}: scratch the bark, "
        "cut to green wood, then feed and water. Late shoots are not yet a dead plant."
    )
    return Step(
        "cut_back", current.year, AFTER_FROST, window, since, "the last frost", reason, "ucce"
    )

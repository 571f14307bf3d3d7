"""Beds that must be clear by a day, or take no perennials: what that makes of a season.

What a plant in such a bed may not do is spend the winter in the ground. Its season ends at its
lifting, in time for the day; everything that hangs on the autumn follows from that. What stands in
a pot is under no such rule.
"""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta

from lifecycle.care import autumn, growing
from lifecycle.care.bed_rules import ANCHOR, SOURCE
from lifecycle.care.outlook import Outlook
from lifecycle.care.seasons import OVERDUE, BedEnd, Season, date_on_or_after, season
from lifecycle.care.steps import Step, Window
from lifecycle.care.winter import LIFTED, usual_route
from lifecycle.handbook import days
from lifecycle.life.fold import Life
from lifecycle.life.kinds import Kind
from lifecycle.life.phases import Phase, Route

_LEAVES = frozenset({"lift", "let_go", "clear"})
_ENDING = _LEAVES | {
    *("review", "pest_check", "label_check", "backup", "last_pick", "acclimatise", "cut_back"),
    *("winter_quarters", "pot_out", "take_cutting"),
}
_IN_THE_BED = frozenset(
    {
        *("water_in", "label", "mulch", "stake", "stake_stout", "cage", "string", "tie"),
        *("side_shoots", "wind_on", "lower", "pinch", "flowers_off", "first_feed", "feed"),
        *("shade", "unshade", "harvest", "clear", "guard", "review", "pest_check", "label_check"),
        *("backup", "last_pick", "acclimatise", "lift", "take_cutting", "let_go"),
    }
)
_PASSES_ON = frozenset({"review", "lift"})


def bound(current: Season, life: Life, outlook: Outlook) -> Season:
    """Return a season as the rules of the bed have it in which the plant stands.

    A day to be clear by belongs to the season whose planting it follows. A plant that went in
    after the day has until the next one.
    """
    rules = outlook.ground.rules
    if outlook.ground.in_pot or not rules.end_a_season:
        return current
    by = None
    if rules.clear_by is not None:
        by = date_on_or_after(rules.clear_by, current.plant_out.best)
        if _stands_since(life, current) > by:
            by = None
    if by is None and rules.perennials_in_ground:
        return current
    ended = replace(current, bed_end=BedEnd(by))
    lift = ended.in_time(current.autumn)
    ended = replace(
        ended,
        lift=lift,
        lift_reason=current.lift_reason if current.lift and lift.best == current.lift.best else "",
    )
    end = BedEnd(
        by,
        why=_why(current, by, life, outlook),
        told=_changed(current, ended, life, outlook),
        in_open=_stands_in_open(current, ended, life, outlook),
    )
    return replace(ended, bed_end=end)


def allowed(route: Route, current: Season) -> Route:
    """Return the route that the bed allows: what may not stay in the ground is lifted."""
    barred = current.bed_end is not None and route is Route.IN_GROUND
    return Route.RESTING if barred else route


def obeyed(steps: list[Step], life: Life, outlook: Outlook) -> list[Step]:
    """Return the steps as the rules of the bed have them: in time, and naming the rule.

    What would fall due in the bed after the day it must be clear by is left out.
    """
    seasons: dict[int, Season] = {}
    kept: list[Step] = []
    left_out: set[str] = set()
    for step in steps:
        year = step.growing_year
        if year not in seasons:
            seasons[year] = bound(season(outlook.dates, year), life, outlook)
        own = _in_time(step, seasons[year])
        if own is None:
            left_out.add(step.kind)
        else:
            kept.append(_told(own, seasons[year].bed_end, outlook))
    return list(_still_led_to(kept, left_out)) if left_out else kept


def _in_time(step: Step, current: Season) -> Step | None:
    """Return a step of the bed with nothing of it after the day, None if all of it lies there."""
    by = None if current.bed_end is None else current.bed_end.by
    if by is None or step.kind not in _IN_THE_BED or step.window.latest <= by:
        return step
    if step.window.best > by:
        return None
    window = Window(step.window.earliest, step.window.best, by)
    return replace(step, window=window)


def _told(step: Step, end: BedEnd | None, outlook: Outlook) -> Step:
    reason, anchor, source = step.reason, step.anchor, step.source
    if end is not None and step.kind in _ENDING:
        leaves = step.kind in _LEAVES
        cut_short = leaves and end.by == step.window.latest
        # Without the rule a step so late would be let go, and the plant left where it stands.
        kept_open = leaves and step.window.latest + timedelta(OVERDUE) < outlook.today
        if end.told or cut_short or kept_open:
            reason = f"{end.why} {reason}"
            source = SOURCE if leaves else source
        anchor = ANCHOR if leaves else anchor
    if step.kind in _PASSES_ON and not outlook.ground.rules.plots_kept:
        reason = f"{reason} The plot may be another’s next year."
    if reason == step.reason and anchor == step.anchor:
        return step
    return replace(step, reason=reason, anchor=anchor, source=source)


def _still_led_to(kept: list[Step], left_out: set[str]) -> Iterator[Step]:
    """Leave out what waits for a step that is left out."""
    gone = left_out - {step.kind for step in kept}
    return (step for step in kept if step.waits_for not in gone)


def last_of_tenancy(last: Season, current: Season) -> date:
    """Return the last day on which a plant still owes its bed the day to be clear by of ``last``.

    A rule does not say since when it holds. What stands on through the planting of a season, or
    for ``OVERDUE`` days after a day that falls into it, is a tenant of that season, and has until
    its day. ``last`` must have a day to be clear by.
    """
    assert last.clear_by is not None
    return max(current.plant_out.latest, last.clear_by + timedelta(OVERDUE))


def _stands_since(life: Life, current: Season) -> date:
    """Return since when it stands in this bed: set out there, or moved there from another."""
    if not life.outside:
        return current.plant_out.best
    out_on = life.planted_out_on or life.began_on
    return life.since(Kind.MOVED, out_on) or out_on


def _why(current: Season, by: date | None, life: Life, outlook: Outlook) -> str:
    decided = "" if not _decided_to_stay(life, current) else ", so it cannot stay as decided"
    if by is None:
        return f"Perennials may not winter in this bed’s ground{decided}."
    maturity = outlook.crop.find("maturity")
    bears = current.plant_out.best + timedelta(0 if maturity is None else round(maturity.si))
    early = ", before it can bear here" if by < bears else ""
    return f"This bed must be clear by {{{by}}}{early}{decided}."


def _decided_to_stay(life: Life, current: Season) -> bool:
    return growing.decided_route(life, current, usual=Route.LET_GO) is Route.IN_GROUND


def _changed(current: Season, ended: Season, life: Life, outlook: Outlook) -> bool:
    """Whether the rules move the end of the season, or keep a plant from staying."""
    if ended.bed_end is not None and ended.bed_end.by is not None:
        if ended.lift != current.lift:
            return True
        if autumn.clearing(ended, outlook) != autumn.clearing(current, outlook):
            return True
    usual = usual_route(outlook.dates, outlook.crop)
    return growing.decided_route(life, current, usual=usual) is Route.IN_GROUND


def _stands_in_open(current: Season, ended: Season, life: Life, outlook: Outlook) -> bool:
    """Whether a lifted plant goes into the open in its pot, and not under a roof.

    So it does where no cold ever sends it in, or not for weeks yet; but not one at rest, nor where
    a roof was decided on.
    """
    assert ended.lift is not None
    if life.phase is Phase.RESTING:
        return False
    waits = timedelta(days("clear_by.pot_waits"))
    if current.lift is None or ended.lift.best + waits < current.lift.best:
        return True
    if outlook.dates.frosty or not outlook.dates.keeps_in_ground:
        return False
    return growing.decided_route(life, ended, usual=Route.IN_GROUND) not in LIFTED

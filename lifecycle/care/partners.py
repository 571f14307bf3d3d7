"""Crops sown where they stay, the partners of a rotation: sow, thin, harvest, clear."""

from dataclasses import replace
from datetime import date, timedelta

from lifecycle.care.bed_rules import ANCHOR, SOURCE
from lifecycle.care.emerging import emergence
from lifecycle.care.outlook import Outlook
from lifecycle.care.seasons import (
    OVERDUE,
    Season,
    closed,
    date_on_or_after,
    due_before,
    season,
    season_at,
)
from lifecycle.care.sowing import how_many, seed_test
from lifecycle.care.steps import Step, Window
from lifecycle.care.summer import after
from lifecycle.handbook import Crop, days
from lifecycle.life.fold import Life
from lifecycle.life.growing_year import growing_year_of
from lifecycle.life.kinds import Kind
from lifecycle.life.phases import Phase


def plan_in_place(life: Life, crop: Crop, outlook: Outlook) -> list[Step]:
    """Return the steps of a sowing that is never potted up."""
    if life.phase is Phase.PLANNED:
        coming = _sow(crop, outlook, life.began_on)
        return [*seed_test(life, crop, outlook, coming), coming]
    year = growing_year_of(life.began_on, outlook.dates.year_starts_in)
    if life.phase is Phase.SOWN:
        return [emergence(life, crop, outlook, year)]
    return [*_harvest(life, crop, outlook, year), _clear(life, crop, outlook, year)]


def _sow(crop: Crop, outlook: Outlook, since: date) -> Step:
    current = season_at(outlook.dates, since)
    floor = max(since, outlook.today)
    while _sow_window(crop, current).latest + timedelta(OVERDUE) < floor:
        current = season(outlook.dates, current.year + 1)
    frost, known = _last_frost(current)
    soil = crop.find("soil_min")
    warm = "" if soil is None else f", once the soil has {{{soil.si:.2f} C}}"
    what = "the middle last frost" if known else "spring, for no frost is known here"
    reason = (
        f"{_weeks(crop)} {what}, {{{frost}}}{warm}. Sow where it stays.{how_many(crop, outlook)}"
    )
    timing = crop.fact("direct_before_freeze")
    window = _sow_window(crop, current)
    return Step("sow", current.year, 1, window, since, "the last frost", reason, timing.source)


def _sow_window(crop: Crop, current: Season) -> Window:
    timing = crop.fact("direct_before_freeze")
    frost, _ = _last_frost(current)
    first = frost - timedelta(round(timing.si_high))
    last = frost - timedelta(round(timing.si))
    if timing.si_to is None:
        span = timedelta(days("bed_partner.sow_span"))
        return Window(first - span, first, first + span)
    return Window(first, first + (last - first) / 2, last)


def _last_frost(current: Season) -> tuple[date, bool]:
    """The middle last frost, or where none is known a day as far ahead of warm nights."""
    if current.spring_freeze_middle is not None:
        return current.spring_freeze_middle, True
    return current.plant_out.best - timedelta(days("typed.warm_after_freeze")), False


def _weeks(crop: Crop) -> str:
    timing = crop.fact("direct_before_freeze")
    low, high = round(timing.si / 7), round(timing.si_high / 7)
    if low >= 0:
        span = f"{low} to {high}" if low < high else f"{high}"
        return f"{span} weeks before" if high else "About"
    if high <= 0:
        span = f"{-high} to {-low}" if low < high else f"{-low}"
        return f"{span} weeks after"
    return f"From {high} weeks before to {-low} weeks after"


def _harvest(life: Life, crop: Crop, outlook: Outlook, year: int) -> list[Step]:
    maturity, picked = crop.fact("maturity"), life.dates.get(Kind.PICKED, [])
    if picked and crop.one_harvest:
        return []
    if picked:
        every, late = days("harvest_rounds.every"), days("harvest_rounds.late")
        window = after(picked[-1], every - late, every, every + late)
        reason = f"Every {every} days while it bears, the last on {{{picked[-1]}}}."
    else:
        low, high = round(maturity.si), round(maturity.si_high)
        window = after(_sown(life), low, (low + high) // 2, high)
        span = f"{low} to {high}" if low < high else f"About {low}"
        reason = f"{span} days after sowing on {{{_sown(life)}}}."
    by = _clear_by(life, outlook)
    over = _picked_over(life, crop) if by is None else min(_picked_over(life, crop), by)
    if max(window.best, outlook.today) > over:
        return []
    if by is not None:
        window = window.not_after(by)
    number = len(picked) + 1
    return [Step("harvest", year, number, window, _sown(life), "sowing", reason, maturity.source)]


def _clear(life: Life, crop: Crop, outlook: Outlook, year: int) -> Step:
    over, freeze = _picked_over(life, crop), _first_freeze(life, crop, outlook)
    best, why = over, f"It is picked over about {{{over}}}."
    before = None if freeze is None else freeze - timedelta(days("bed_partner.before_freeze"))
    if before is not None and before < over:
        best = before
        why = f"Frost kills it, and one year in ten freezes by {{{freeze}}}: off by {{{best}}}."
    left = crop.find("nitrogen_left")
    if left is None:
        roots = "Clear the bed, and let another family follow."
    else:
        roots = (
            "Cut it off at the soil and leave the roots: picked for its seeds it leaves at most "
            f"{{{left.si_high:.1f} g/m2}} of nitrogen."
        )
    within = timedelta(days("harvest_rounds.clear_within"))
    source = "practice" if left is None else left.source
    reason = f"{why} {roots}"
    window = Window(best, best, best + within)
    step = Step("clear", year, 1, window, _sown(life), "the harvest", reason, source)
    return _in_time(step, life, outlook)


def _in_time(step: Step, life: Life, outlook: Outlook) -> Step:
    """Return the clearing as the rules of the bed have it: it stays until the bed is clear."""
    by = _clear_by(life, outlook)
    if by is None:
        return step
    if step.window.best <= due_before(by, _sown(life)).best and step.window.latest <= by:
        return replace(step, anchor=ANCHOR)
    reason = f"This bed must be clear by {{{by}}}. {step.reason}"
    window = closed(step.window, by, _sown(life))
    return replace(step, window=window, anchor=ANCHOR, reason=reason, source=SOURCE)


def _clear_by(life: Life, outlook: Outlook) -> date | None:
    """Return the day by which the bed must be clear that follows the sowing, or None."""
    day = outlook.ground.rules.clear_by
    if day is None or outlook.ground.in_pot:
        return None
    return date_on_or_after(day, _sown(life))


def _picked_over(life: Life, crop: Crop) -> date:
    lasts = timedelta(days("bed_partner.picked_for"))
    picked = life.dates.get(Kind.PICKED)
    if picked and crop.one_harvest:
        return picked[0]
    if picked:
        return picked[0] + lasts
    return _sown(life) + timedelta(round(crop.fact("maturity").si_high)) + lasts


def _first_freeze(life: Life, crop: Crop, outlook: Outlook) -> date | None:
    """The freeze that ends a crop that frost kills, or None for one that it spares."""
    freeze = outlook.dates.first_freeze_risk
    if freeze is None or crop.fact("direct_before_freeze").si > 0:
        return None
    return date_on_or_after(freeze, _sown(life))


def _sown(life: Life) -> date:
    return life.last_on[Kind.SOWN]

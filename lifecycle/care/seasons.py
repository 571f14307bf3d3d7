"""One growing season at a site: the windows that its anchors give, as dates.

A season is named by the growing year in which planting out falls best. It runs from the
waking of kept plants to the end of the winter that closes it.
"""

from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache

from lifecycle.care.site_dates import NAMES, MonthDay, SiteDates
from lifecycle.care.steps import Window, ahead_of, around
from lifecycle.handbook import days, fact
from lifecycle.life.growing_year import growing_year_of, growing_year_start

OVERDUE = 45
"""Days after its latest day for which a missed spring step still stands in the plan."""


LEAST_SUMMER = 30
"""Days for which a plant set out on the best day stands out at the least."""

EARLY_SPRING, MIDDLE_OF_SPRING = timedelta(120), timedelta(134)
"""From the turn of the growing year to spring, where no night says when it comes."""


@dataclass(frozen=True, slots=True)
class BedEnd:
    """How the rules of a bed end a season: clear ``by`` a day, or None for no winter in the ground.

    ``why`` names the rule; ``told``: the end of the season is another one for it. ``in_open``: what
    is lifted stands in the open in its pot.
    """

    by: date | None
    why: str = ""
    told: bool = False
    in_open: bool = False


@dataclass(frozen=True, slots=True)
class Season:
    """The windows of one season. ``lift`` is None where nights are mild all year.

    ``bed_end`` is set for a plant in a bed whose rules end its season (``cleared_beds``).
    """

    year: int
    starts: date
    plant_out: Window
    plant_out_reason: str
    plant_out_source: str
    lift: Window | None
    lift_reason: str
    first_freeze_risk: date | None
    spring_freeze_middle: date | None
    spring_freeze_risk: date | None
    feeding_ends_in_ground: date | None
    bed_end: BedEnd | None = None

    @property
    def autumn(self) -> Window:
        """The lifting window, or where nothing is lifted the turn after a heavy crop."""
        if self.lift is not None:
            return self.lift
        return around(self.plant_out.best + timedelta(days("warm_site.turn")), 30, 30)

    @property
    def clear_by(self) -> date | None:
        """The day by which the bed must be clear, or None."""
        return None if self.bed_end is None else self.bed_end.by

    def in_time(self, window: Window) -> Window:
        """Return the window to take a plant out of its bed as the day to be clear by leaves it.

        The earlier of both counts: what was due sooner stays so.
        """
        if self.clear_by is None:
            return window
        return closed(window, self.clear_by, self.plant_out.best)


def due_before(by: date, since: date) -> Window:
    """Return the window to clear a bed ``by`` a day, nothing of it before ``since``."""
    best = by - timedelta(days("clear_by.best_before"))
    return Window(best - timedelta(days("clear_by.opens_before")), best, by).not_before(since)


def closed(window: Window, by: date, since: date) -> Window:
    """Return a window to clear a bed that must be clear ``by`` a day and is planted ``since``."""
    own = due_before(by, since)
    best = min(window.best, own.best)
    earliest = window.earliest if best == window.best else min(window.earliest, own.earliest)
    return Window(earliest, best, min(window.latest, by))


def date_on_or_after(day: MonthDay, start: date) -> date:
    """Return the first date on or after ``start`` that falls on ``day``."""
    for year in (start.year, start.year + 1):
        candidate = _date(year, day)
        if candidate >= start:
            return candidate
    raise AssertionError("a day of the year falls in one of two years")


def date_before(day: MonthDay, end: date) -> date:
    """Return the last date before ``end`` that falls on ``day``."""
    for year in (end.year, end.year - 1):
        candidate = _date(year, day)
        if candidate < end:
            return candidate
    raise AssertionError("a day of the year falls in one of two years")


@lru_cache(maxsize=4096)
def season(dates: SiteDates, year: int) -> Season:
    """Return the season of growing year ``year``."""
    plant_out, reason, source = _plant_out(dates, growing_year_start(year, dates.year_starts_in))
    best = plant_out.best
    risk = date_on_or_after(dates.first_freeze_risk, best) if dates.first_freeze_risk else None
    lift, lift_reason = _lift(dates, best, risk)
    return Season(
        year=year,
        starts=plant_out.earliest - timedelta(days("wake.before_plant_out_max")),
        plant_out=plant_out,
        plant_out_reason=reason,
        plant_out_source=source,
        lift=lift,
        lift_reason=lift_reason,
        first_freeze_risk=risk,
        spring_freeze_middle=_spring(dates.last_freeze_middle, best),
        spring_freeze_risk=_spring(dates.last_freeze_risk, best),
        feeding_ends_in_ground=_feeding_end(dates, best),
    )


def season_at(dates: SiteDates, day: date) -> Season:
    """Return the season running on ``day``: the last one that has started."""
    year = growing_year_of(day, dates.year_starts_in) + 1
    while season(dates, year).starts > day:
        year -= 1
    return season(dates, year)


def next_planting(dates: SiteDates, after: date, today: date) -> Season:
    """Return the season in which a plant under a roof since ``after`` goes out.

    A window missed by more than ``OVERDUE`` days is left for the next season's.
    """
    current = season_at(dates, after)
    while current.plant_out.best <= after or current.plant_out.latest + timedelta(OVERDUE) < today:
        current = season(dates, current.year + 1)
    return current


def _date(year: int, day: MonthDay) -> date:
    try:
        return date(year, *day)
    except ValueError:  # 29 February in a common year
        return date(year, 2, 28)


def _spring(day: MonthDay | None, best: date) -> date | None:
    """Return the end of the winter before planting out, looked for up to 90 days after it."""
    return None if day is None else date_before(day, best + timedelta(90))


def _plant_out(dates: SiteDates, start: date) -> tuple[Window, str, str]:
    nights = dates.planting_nights
    ready, allowed = dates.stretch(nights.ready_c), dates.stretch(nights.allowed_c)
    if ready.always and dates.always_warm:
        return _plant_out_any_month(dates, start)
    if ready.always or ready.start is not None:
        return _plant_out_ready(dates, start)
    if allowed.always or allowed.start is not None:
        return _plant_out_allowed(dates, start)
    middle = date_on_or_after((1, 1) if dates.southern else (7, 1), start)
    name = NAMES[nights.group]
    reason = (
        f"Night lows here never average {{{nights.allowed_c:.2f} C}}: "
        f"grow {name} under cover, and set them out only for the warmest weeks."
    )
    return around(middle, 14, days("plant_out.late_after")), reason, nights.allowed_source


def _plant_out_ready(dates: SiteDates, start: date) -> tuple[Window, str, str]:
    """Plan by the days from which nights average what the crop wants, after the freezes."""
    nights = dates.planting_nights
    ready, allowed = dates.stretch(nights.ready_c), dates.stretch(nights.allowed_c)
    # Where such nights last all year, those of 55 F still tell when spring comes.
    opens = ready.start or dates.warm_from
    warm = date_on_or_after(opens, start) if opens else start + MIDDLE_OF_SPRING
    earliest = _first(allowed.start, start)
    if earliest is None or earliest > warm:
        earliest = warm - timedelta(days("typed.mild_before_warm"))
    since = "all year" if ready.always else f"from {{{warm}}}"
    reason = f"Night lows here average {{{ready.limit_c:.2f} C}} {since}"
    if allowed != ready and (allowed.always or allowed.start is not None):
        since = "all year" if allowed.always else f"from {{{earliest}}}"
        reason += f" and {{{allowed.limit_c:.2f} C}} {since}"
    reason += "."
    if nights.group == "pepper":
        reason += f" Peppers are chilled below {{{nights.allowed_c:.2f} C}}."
    best, freeze = warm, _spring(dates.last_freeze_risk, warm)
    if freeze is not None and freeze > warm:
        best = freeze
        reason += f" One year in ten still freezes until {{{freeze}}}."
    late = timedelta(days("plant_out.late_after"))
    return Window(earliest, best, best + late), reason, nights.ready_source


def _plant_out_allowed(dates: SiteDates, start: date) -> tuple[Window, str, str]:
    """Plan by the nights that allow planting out, where none are warm enough to be ready."""
    nights = dates.planting_nights
    earliest = _first(dates.stretch(nights.allowed_c).start, start) or start + EARLY_SPRING
    best = earliest + (MIDDLE_OF_SPRING - EARLY_SPRING)
    reason = (
        f"Night lows here never average {{{nights.ready_c:.2f} C}}. They average "
        f"{{{nights.allowed_c:.2f} C}} from {{{earliest}}}: plant out with a cover at hand."
    )
    latest = best + timedelta(days("plant_out.late_after"))
    return Window(earliest, best, latest), reason, nights.allowed_source


def _plant_out_any_month(dates: SiteDates, start: date) -> tuple[Window, str, str]:
    hot, ready_c = fact("warm_site.too_hot_night"), dates.planting_nights.ready_c
    early, late = days("warm_site.plant_early"), days("warm_site.plant_late")
    if dates.hot_until is not None:
        best = date_on_or_after(dates.hot_until, start)
        reason = (
            f"Night lows here stay above {{{ready_c:.2f} C}} all year. "
            f"Nights are too hot to set fruit, above {{{hot.si:.2f} C}}, until {{{best}}}."
        )
        return around(best, early, late), reason, hot.source
    best = date_on_or_after((3, 1) if dates.southern else (9, 1), start)
    reason = (
        f"Night lows here stay above {{{ready_c:.2f} C}} all year: "
        "any month will do, and the end of summer gives the longest season."
    )
    return around(best, early, late), reason, "practice"


def _first(day: MonthDay | None, start: date) -> date | None:
    return None if day is None else date_on_or_after(day, start)


def _lift(dates: SiteDates, best_out: date, risk: date | None) -> tuple[Window | None, str]:
    if dates.mild_until is None:
        if dates.always_mild or dates.always_warm:
            return None, "Nights are mild here all year: nothing needs lifting."
        best = risk - timedelta(7) if risk else best_out + timedelta(75)
    else:
        best = date_on_or_after(dates.mild_until, best_out)
    latest = best + timedelta(days("lift.latest_after"))
    if risk is not None:
        latest = min(latest, risk - timedelta(1))
    # Where summer is that short, what was just set out is covered rather than lifted.
    best = max(min(best, latest), best_out + timedelta(LEAST_SUMMER))
    latest = max(latest, best)
    earliest = best - timedelta(days("lift.earliest_before"))
    night = fact("lift.night")
    reason = f"Night lows here average less than {{{night.si:.2f} C}} after {{{best}}}."
    if risk is not None:
        reason += f" One year in ten has a freeze by {{{risk}}}."
    return Window(earliest, best, latest), reason


def _feeding_end(dates: SiteDates, best_out: date) -> date | None:
    if not dates.frosty:
        return None
    month, day = divmod(int(fact("feed.stop_in_ground").value), 100)
    if dates.southern:
        month, day = 2, 28
    return date_on_or_after((month, day), best_out)


def waking(plant_out: Window) -> Window:
    """Return the window to wake resting plants, one to two months ahead of planting out."""
    return ahead_of(
        plant_out.best,
        days("wake.before_plant_out_max"),
        days("wake.before_plant_out"),
        days("wake.before_plant_out_min"),
    )


def hardening(plant_out: Window) -> Window:
    """Return the window to begin hardening off."""
    two_weeks = timedelta(days("harden.before_plant_out"))
    return Window(
        plant_out.earliest - two_weeks,
        plant_out.best - two_weeks,
        plant_out.best - timedelta(days("harden.before_plant_out_min")),
    )

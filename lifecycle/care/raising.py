"""From seed to the bed: sow, emergence, pot up, harden off, plant out."""

from datetime import date, timedelta

from lifecycle.agronomy.emergence import days_to_emergence, normal_share, seeds_for
from lifecycle.care.outlook import Nights, Outlook
from lifecycle.care.readiness import Readiness, readiness
from lifecycle.care.seasons import OVERDUE, Season, hardening, season, season_at
from lifecycle.care.steps import Step, Window
from lifecycle.handbook import Crop, days, fact
from lifecycle.life.fold import Life
from lifecycle.life.growing_year import growing_year_of
from lifecycle.life.kinds import Kind
from lifecycle.life.phases import Phase


def plan_sowing(life: Life, crop: Crop, outlook: Outlook) -> list[Step]:
    """Return the steps of a sowing: sow it, look for seedlings, pot them up."""
    if life.phase is Phase.PLANNED:
        return [_sow(crop, outlook, life.began_on)]
    year = growing_year_of(life.began_on, outlook.dates.year_starts_in)
    if life.phase is Phase.SOWN:
        return [_emergence(life, crop, outlook.bench_c, year)]
    if life.phase is Phase.SEEDLING and not life.potted_up:
        return [_pot_up(life, year)]
    return []


def _sow(crop: Crop, outlook: Outlook, since: date) -> Step:
    near, far = crop.sow_weeks
    dates = outlook.dates
    current = season_at(dates, since)
    floor = max(since, outlook.today)
    while current.plant_out.best - timedelta(weeks=near) + timedelta(OVERDUE) < floor:
        current = season(dates, current.year + 1)
    out = current.plant_out.best
    window = Window(
        out - timedelta(weeks=far),
        out - timedelta(days=(near + far) * 7 // 2),
        out - timedelta(weeks=near),
    )
    return Step(
        "sow",
        current.year,
        1,
        window,
        since,
        "planting out",
        f"{near} to {far} weeks before planting out, best on {{{out}}} here."
        f"{_how_many(crop, outlook.bench_c)}",
        crop.source,
    )


def _how_many(crop: Crop, bench_c: float | None) -> str:
    """Return the sentence that says how many seeds make a dozen plants, or ""."""
    soil = fact("sow.emergence_room").si if bench_c is None else bench_c
    seeds = seeds_for(12, normal_share(soil, crop.normal) or 0.0)
    if seeds is None or seeds > 120:
        return ""
    where = f"{{{soil:.2f} C}}{' (assumed)' if bench_c is None else ''}"
    return f" At {where} sow {seeds} sound seeds for 12 plants."


def _emergence(life: Life, crop: Crop, bench_c: float | None, year: int) -> Step:
    sown = life.last_on[Kind.SOWN]
    assumed = bench_c is None
    soil = fact("sow.emergence_room").si if bench_c is None else bench_c
    found = days_to_emergence(soil, crop.emergence)
    where = f"{{{soil:.2f} C}}{' (assumed)' if assumed else ''}"
    if found is None:
        coldest = next(row for row in crop.emergence if row[1] is not None)
        assert coldest[1] is not None
        expected = round(coldest[1])
        reason = (
            f"No pepper comes up at {where}. Warm the bench to {{25 C}} to {{30 C}}; "
            f"even at {{{coldest[0]:.2f} C}} it takes {expected} days."
        )
    elif crop.slow_days is not None:
        expected = crop.slow_days[0]
        reason = (
            f"{crop.latin} commonly takes {crop.slow_days[0]} to {crop.slow_days[1]} days in "
            f"warmth; the bench has {where}. Do not give up early."
        )
    else:
        expected = round(found)
        reason = f"Peppers come up in about {expected} days at {where}."
    overdue = crop.slow_days[1] if crop.slow_days else 0
    overdue = max(overdue, round(expected * fact("sow.overdue_factor").value))
    window = Window(
        sown + timedelta(expected * 3 // 4), sown + timedelta(expected), sown + timedelta(overdue)
    )
    return Step("emergence", year, 1, window, sown, "sowing", reason, "knott")


def _pot_up(life: Life, year: int) -> Step:
    emerged = life.dates[Kind.EMERGED][0] if Kind.EMERGED in life.dates else life.phase_since
    window = Window(
        emerged + timedelta(days("pot_up.after_emergence_min")),
        emerged + timedelta(days("pot_up.after_emergence")),
        emerged + timedelta(days("pot_up.after_emergence_max")),
    )
    reason = (
        f"Seedlings came up on {{{emerged}}}: pot up when the first true leaves open. "
        "Peppers no deeper than they stood; two in one pot stay together."
    )
    return Step("pot_up", year, 1, window, emerged, "emergence", reason, "msu")


def first_hardening(current: Season, since: date) -> Step:
    """Return the step that hardens off seedlings before their first planting out."""
    below = fact("harden.bring_in_below").si
    return Step(
        "harden",
        current.year,
        1,
        hardening(current.plant_out),
        since,
        "planting out",
        f"About two weeks before planting out, best on {{{current.plant_out.best}}} here. "
        f"Begin with an hour in shade; bring them in below {{{below:.0f} C}}.",
        "hennepin",
    )


def planting(kind: str, current: Season, since: date, outlook: Outlook, waits_for: str) -> Step:
    """Return the step that plants out, judged by the next seven nights when they are near."""
    window, reason = current.plant_out, current.plant_out_reason
    nights, today = outlook.nights, outlook.today
    if nights is not None and _near(window, today) and _fresh(nights, today):
        verdict = readiness(nights.lows_c)
        reason = f"{verdict.reason} {reason}"
        if verdict.answer is Readiness.HOLD:
            window = _held(window, nights.first + timedelta(7))
        elif verdict.answer is Readiness.READY and nights.first >= window.earliest:
            best = min(window.best, max(nights.first, window.earliest))
            window = Window(window.earliest, best, window.latest)
    return Step(
        kind,
        current.year,
        1,
        window,
        since,
        "warm nights",
        reason,
        current.plant_out_source,
        waits_for,
    )


def _near(window: Window, today: date) -> bool:
    return window.earliest - timedelta(14) <= today <= window.latest + timedelta(OVERDUE)


def _fresh(nights: Nights, today: date) -> bool:
    return timedelta(0) <= today - nights.first <= timedelta(2)


def _held(window: Window, until: date) -> Window:
    earliest = max(window.earliest, until)
    best = max(window.best, earliest)
    return Window(earliest, best, max(window.latest, best))

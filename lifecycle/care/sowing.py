"""Sowing under cover: when, how many, and whether old seed is tested first."""

from datetime import date, timedelta

from lifecycle.agronomy.emergence import normal_share, seeds_for
from lifecycle.care.outlook import Outlook
from lifecycle.care.seasons import OVERDUE, Season, season, season_at
from lifecycle.care.seed_advice import seed_life
from lifecycle.care.steps import Step, Window, ahead_of
from lifecycle.handbook import Crop, days, fact
from lifecycle.life.fold import Life
from lifecycle.life.kinds import Kind

DOZEN = 12
_MOST_SEEDS = 120
"""More than this for a dozen plants and the seed is better thrown away."""

_HALF_A_WEEK = 3


def sow(crop: Crop, outlook: Outlook, since: date) -> Step:
    """Return the sowing under cover, counted back from planting out."""
    near, far = crop.sow_weeks
    dates = outlook.dates
    current = season_at(dates, since)
    floor = max(since, outlook.today)
    while current.plant_out.best - timedelta(weeks=near) + timedelta(OVERDUE) < floor:
        current = season(dates, current.year + 1)
    weeks = f"{near} to {far}" if near < far else f"{near}"
    return Step(
        "sow",
        current.year,
        1,
        _sow_window(current, near, far),
        since,
        "planting out",
        f"{weeks} weeks before planting out, best on {{{current.plant_out.best}}} here."
        f"{how_many(crop, outlook)}",
        crop.source,
        setting="plant_out_night" if crop.group == "pepper" else "",
    )


def _sow_window(current: Season, near: int, far: int) -> Window:
    out = current.plant_out.best
    if near < far:
        return ahead_of(out, far * 7, (near + far) * 7 // 2, near * 7)
    return ahead_of(out, near * 7 + _HALF_A_WEEK, near * 7, near * 7 - _HALF_A_WEEK)


def how_many(crop: Crop, outlook: Outlook) -> str:
    """Return the sentence that says how many seeds make a dozen plants, or "".

    By the share of seedlings at the bench's temperature, and by the last test of the seed.
    """
    bench_c, tested = outlook.bench_c, outlook.seed_test
    if not crop.normal and tested is None:
        return ""
    soil = fact("sow.emergence_room").si if bench_c is None else bench_c
    share = normal_share(soil, crop.normal) if crop.normal else 1.0
    if share is None:
        return ""
    seeds = seeds_for(DOZEN, share, 1.0 if tested is None else tested)
    if seeds is None or seeds > _MOST_SEEDS:
        old = tested is not None and tested < share
        return " Too few of the seeds sprouted in their test: buy new." if old else ""
    where = f"{{{soil:.2f} C}}{' (assumed)' if bench_c is None else ''}"
    at = f"At {where} sow" if crop.normal else "Sow"
    sound = "sound seeds" if tested is None else f"seeds, of which {tested * 100:.0f} % sprouted,"
    return f" {at} {seeds} {sound} for {DOZEN} plants."


def seed_test(life: Life, crop: Crop, outlook: Outlook, sowing: Step) -> list[Step]:
    """Return the test of seed that is past its life, ahead of its ``sowing``, unless it is done."""
    lasts = seed_life(crop, outlook.policy)
    done = outlook.seed_test is not None or Kind.SEED_TESTED in life.dates
    if lasts is None or outlook.seed_age is None or outlook.seed_age <= lasts[0] or done:
        return []
    years, source = lasts
    setting = "pepper_seed_life" if crop.group == "pepper" else ""
    warmth, seeds = fact("old_seed.towel_warmth"), fact("old_seed.towel_seeds")
    window = ahead_of(
        sowing.window.earliest,
        days("old_seed.before_sowing_max"),
        days("old_seed.before_sowing"),
        days("old_seed.before_sowing_min"),
    )
    reason = (
        f"The seed is {outlook.seed_age} years old, and stays good for {years} in favourable "
        f"storage: sprout {seeds.value:.0f} in a damp towel at {{{warmth.si:.2f} C}} to "
        f"{{{warmth.si_high:.2f} C}} and count."
    )
    return [
        Step(
            "seed_test",
            sowing.growing_year,
            1,
            window,
            life.began_on,
            "sowing",
            reason,
            source,
            setting=setting,
        )
    ]

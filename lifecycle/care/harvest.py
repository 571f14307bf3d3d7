"""Harvest rounds: the first by the crop's days, then weekly to the freeze; or one flush."""

from datetime import date, timedelta

from lifecycle.care.steps import Step, Window
from lifecycle.care.summer import Summer, Why, after
from lifecycle.handbook import days
from lifecycle.life.kinds import Kind

_NO_ROT = (
    "The first fruit is the one that blossom-end rot takes: even watering is its cure, magnesium "
    "salts are none."
)


def rounds(summer: Summer) -> list[Step]:
    """Return the next harvest round; for a determinate tomato, once it is picked, clearing it."""
    maturity = summer.crop.fact("maturity")
    sooner = days("harvest_rounds.kept_sooner") if summer.kept else 0
    low, high = round(maturity.si) - sooner, round(maturity.si_high) - sooner
    first = after(summer.out_on, low, (low + high) // 2, high)
    picked = [day for day in _picked(summer) if day >= summer.first_out]
    why = _why_next(picked[-1]) if picked else _why_first(summer, low, high, sooner)
    every, late = days("harvest_rounds.every"), days("harvest_rounds.late")
    gaps = (every - late, every, every + late)
    over = _flush_over(summer)
    ends = summer.ends if over is None else min(summer.ends, over)
    following = summer.again("harvest", Kind.PICKED, first, gaps, why, ends=ends)
    return following if over is None else [*following, *_clear(summer, over)]


def _picked(summer: Summer) -> list[date]:
    return summer.life.dates.get(Kind.PICKED, [])


def _why_first(summer: Summer, low: int, high: int, sooner: int) -> Why:
    maturity = summer.crop.fact("maturity")
    span = f"{low} to {high} days" if low < high else f"{low} days"
    since = "planting out" if summer.newly_out else "its care resumes"
    reason = f"{span} after {since} on {{{summer.out_on}}}"
    if summer.kept:
        reason += (
            f", {sooner} days sooner than a seedling: a kept plant is in bud or fruit when "
            "seedlings are just going out"
        )
    return Why("planting out", f"{reason}. {_NO_ROT}", maturity.source)


def _why_next(last: date) -> Why:
    every = days("harvest_rounds.every")
    return Why(
        "the harvest before",
        f"Every {every} days while it bears, the last on {{{last}}}: what is picked sets more.",
        "practice",
    )


def _flush_over(summer: Summer) -> date | None:
    """Return the day by which a determinate tomato is picked over, once its flush has begun."""
    if summer.crop.habit != "determinate":
        return None
    began = next((day for day in _picked(summer) if day >= summer.first_out), None)
    return None if began is None else began + timedelta(days("harvest_rounds.flush"))


def _clear(summer: Summer, over: date) -> list[Step]:
    weeks = days("harvest_rounds.flush") // 7
    began = over - timedelta(days("harvest_rounds.flush"))
    why = Why(
        "the first harvest",
        f"It ripens in one flush of about {weeks} weeks, begun on {{{began}}}, and is then "
        "finished: pick the rest and clear it.",
        "practice",
    )
    window = Window(over, over, over + timedelta(days("harvest_rounds.clear_within")))
    window = summer.current.in_time(window)
    return summer.once("clear", Kind.ENDED, window, why, stands=45)

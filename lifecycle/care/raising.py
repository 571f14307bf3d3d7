"""From seed to the bed: sow, emergence, pot up, harden off, plant out."""

from datetime import date, timedelta

from lifecycle.care import partners, setting_out, sowing
from lifecycle.care.emerging import emergence
from lifecycle.care.outlook import Nights, Outlook
from lifecycle.care.readiness import Readiness, readiness
from lifecycle.care.seasons import OVERDUE, Season, hardening
from lifecycle.care.signs import cold_shock
from lifecycle.care.site_dates import for_crop
from lifecycle.care.steps import Step, Window
from lifecycle.care.summer import after
from lifecycle.handbook import Crop, days, fact
from lifecycle.life.fold import Life
from lifecycle.life.growing_year import growing_year_of
from lifecycle.life.kinds import Kind
from lifecycle.life.phases import Phase


def plan_sowing(life: Life, crop: Crop, outlook: Outlook) -> list[Step]:
    """Return the steps of a sowing: test old seed, sow, look for seedlings, pot them up.

    One sown where it stays goes on to its harvest instead.
    """
    if crop.direct_sown:
        return partners.plan_in_place(life, crop, outlook)
    if life.phase is Phase.PLANNED:
        coming = sowing.sow(crop, outlook, life.began_on)
        return [*sowing.seed_test(life, crop, outlook, coming), coming]
    year = growing_year_of(life.began_on, outlook.dates.year_starts_in)
    if life.phase is Phase.SOWN:
        return [emergence(life, crop, outlook, year)]
    if life.phase is Phase.SEEDLING and not life.potted_up:
        return [_pot_up(life, crop, outlook, year)]
    return []


def _pot_up(life: Life, crop: Crop, outlook: Outlook, year: int) -> Step:
    emerged = life.dates[Kind.EMERGED][0]
    window = after(
        emerged,
        days("pot_up.after_emergence_min"),
        days("pot_up.after_emergence"),
        days("pot_up.after_emergence_max"),
    )
    deep = setting_out.how_deep(crop, outlook.policy)
    reason = (
        f"Seedlings came up on {{{emerged}}}: pot up when the first true leaves open. "
        f"{deep} {setting_out.pair(2) if crop.group == 'pepper' else ''}"
    )
    setting = "pepper_depth" if crop.group == "pepper" else ""
    return Step(
        "pot_up", year, 1, window, emerged, "emergence", reason.strip(), "msu", setting=setting
    )


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
        "Begin with an hour in shade, out of the wind: sun bleaches and wind tears leaves that "
        f"never met them. Bring them in below {{{below:.0f} C}}.",
        "hennepin",
    )


def planting(
    kind: str,
    current: Season,
    since: date,
    outlook: Outlook,
    waits_for: str,
    life: Life | None = None,
) -> Step:
    """Return the step that plants out, judged by the next seven nights when they are near.

    ``life`` tells of two on one label, and of cold shock seen while it waits.
    """
    how = _how(life, outlook, young=kind == "plant_out")
    window, reason = current.plant_out, current.plant_out_reason
    nights, today = outlook.nights, outlook.today
    if nights is not None and _near(window, today) and _fresh(nights, today):
        wanted = for_crop(outlook.dates, outlook.crop).planting_nights
        verdict = readiness(nights.lows_c, wanted.ready_c, wanted.allowed_c)
        reason = f"{verdict.reason} {reason}"
        if verdict.answer is Readiness.HOLD:
            window = window.not_before(nights.first + timedelta(7))
        elif verdict.answer is Readiness.READY and nights.first >= window.earliest:
            best = min(window.best, nights.first)
            window = Window(window.earliest, best, window.latest)
    return Step(
        kind,
        current.year,
        1,
        window,
        since,
        "warm nights",
        " ".join(words for words in (_shocked(life, since), reason, *how) if words),
        current.plant_out_source,
        waits_for,
        setting="plant_out_night" if outlook.crop.group == "pepper" else "",
    )


def _shocked(life: Life | None, since: date) -> str:
    seen = None if life is None else cold_shock(life, since)
    if seen is None:
        return ""
    return (
        f"Cold shock and a short feed showed on {{{seen}}}: plant out when nights allow, and feed."
    )


def _how(life: Life | None, outlook: Outlook, *, young: bool) -> tuple[str, ...]:
    return (
        setting_out.depth(outlook.crop, outlook.policy, outlook.ground),
        setting_out.pair(1 if life is None else life.count),
        setting_out.hole(outlook.crop) if young else "",
    )


def _near(window: Window, today: date) -> bool:
    return window.earliest - timedelta(14) <= today <= window.latest + timedelta(OVERDUE)


def _fresh(nights: Nights, today: date) -> bool:
    return timedelta(0) <= today - nights.first <= timedelta(2)

"""Animals that burrow and gnaw: guards before the winter, and after damage."""

from datetime import date, timedelta

from lifecycle.care.ground_winter import frost_starts
from lifecycle.care.outlook import Outlook
from lifecycle.care.seasons import Season
from lifecycle.care.steps import Step, Window, ahead_of
from lifecycle.handbook import days, fact
from lifecycle.life.fold import Life
from lifecycle.life.kinds import Kind


def guard(life: Life, current: Season, outlook: Outlook) -> list[Step]:
    """Return the guard of a plant that winters in the ground of a frosty site."""
    cold_from = frost_starts(current)
    if not outlook.dates.frosty or cold_from is None or outlook.ground.in_pot:
        return []
    window = ahead_of(
        cold_from, days("guarding.before_max"), days("guarding.before"), days("guarding.before_min")
    )
    if not outlook.reaches(window.earliest):
        return []
    if life.since(Kind.GUARDED, window.earliest) is not None:
        return []
    reason = (
        f"Before the frosts from {{{cold_from}}} on: voles nest under mulch and gnaw bark. "
        f"{_how(outlook)}"
    )
    return [_step(current, 1, window, window.earliest, "the winter", reason)]


def after_damage(life: Life, current: Season, outlook: Outlook) -> list[Step]:
    """Return the guard of a plant that an animal hurt this season, until it is guarded."""
    hurt = life.since(Kind.DAMAGE, current.starts)
    if hurt is None or life.last_choice.get(Kind.DAMAGE) != "animal":
        return []
    if life.since(Kind.GUARDED, hurt) is not None:
        return []
    within = timedelta(days("guarding.after_damage"))
    number = 1 + sum(day >= current.starts for day in life.dates[Kind.DAMAGE])
    reason = f"An animal hurt it on {{{hurt}}}, and comes again. {_how(outlook)}"
    return [_step(current, number, Window(hurt, hurt, hurt + within), hurt, "the damage", reason)]


def _how(outlook: Outlook) -> str:
    """Return how to guard it; in a pot or over wire only the stem."""
    ring, mesh = fact("guarding.bare_ring").si, fact("guarding.mesh_height").si
    stem = (
        f"Keep mulch {{{ring:.0f} cm}} off the stem, and put a collar of fine mesh "
        f"{{{mesh:.0f} cm}} high around it."
    )
    if outlook.ground.in_pot:
        return f"Put a collar of fine mesh {{{mesh:.0f} cm}} high around the stem."
    if outlook.ground.wire:
        return f"Wire lies below the bed, so only stems are open to them. {stem}"
    return f"{stem} Nothing is on record that stops them below: look for runs and fresh heaps."


def _step(
    current: Season, number: int, window: Window, since: date, anchor: str, reason: str
) -> Step:
    return Step("guard", current.year, number, window, since, anchor, reason, "practice")

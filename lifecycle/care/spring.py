"""Out of the winter: wake, repot, harden off again, and what replanting is told."""

from dataclasses import replace
from datetime import date, timedelta

from lifecycle.care.outlook import Outlook
from lifecycle.care.policy import SETTINGS, Policy
from lifecycle.care.seasons import Season, hardening, waking
from lifecycle.care.steps import Step, Window, around
from lifecycle.handbook import days, fact
from lifecycle.life.fold import Life
from lifecycle.life.kinds import Kind
from lifecycle.life.phases import Phase


def wake_window(coming: Season, policy: Policy) -> Window:
    """Return the window to wake resting plants, by the anchor that the site has chosen.

    One to two months before planting out; or, where freezes end on a day, a month before it.
    """
    frost = coming.spring_freeze_middle
    if policy.of("wake_anchor") == "planting_out" or frost is None:
        return waking(coming.plant_out)
    span = days("wake_by_frost.span")
    return around(frost - timedelta(days("wake_by_frost.before")), span, span)


def wake(coming: Season, since: date, policy: Policy, waits: str) -> Step:
    """Return the waking of a resting plant; the reason shows both anchors."""
    frost, out = coming.spring_freeze_middle, coming.plant_out.best
    room = fact("wake_by_frost.room")
    how = f"warmer, {{{room.si:.2f} C}} to {{{room.si_high:.2f} C}}, brighter, more water"
    choice, anchor = policy.of("wake_anchor"), "planting out"
    if choice == "last_frost" and frost is not None:
        anchor = "the last frost"
        reason = (
            f"A month before the last frost, here {{{frost}}} in the middle of years: {how}. "
            f"Others wake one to two months before planting out, here best on {{{out}}}."
        )
    else:
        here = f", here {{{frost}}}" if frost is not None else "; none is known here"
        reason = (
            f"One to two months before planting out, best on {{{out}}} here: {how}. "
            f"Others wake a month before the last frost{here}."
        )
    return Step(
        "wake",
        coming.year,
        1,
        wake_window(coming, policy).not_before(since),
        since,
        anchor,
        reason,
        SETTINGS["wake_anchor"].choice(choice).source,
        waits,
        "wake_anchor",
    )


def repot(life: Life, coming: Season, since: date, outlook: Outlook, waits: str) -> list[Step]:
    """Return the repotting of a plant that rested in a pot, in the weeks after waking.

    ``since`` is the day it came in; the step waits for ``waits`` until the plant is woken.
    """
    if life.since(Kind.REPOTTED, since) is not None:
        return []
    woken = _woken(life, since) or wake_window(coming, outlook.policy).not_before(since).best
    if not outlook.reaches(woken):
        return []
    most = days("repotting.after_waking_max")
    reason = (
        f"Within {most // 7} weeks of waking, here {{{woken}}}: trim dead and circling roots, "
        "shake off old mix, and pot in fresh mix no deeper than it stood."
    )
    window = Window(
        woken, woken + timedelta(days("repotting.after_waking")), woken + timedelta(most)
    )
    return [Step("repot", coming.year, 1, window, since, "waking", reason, "practice", waits)]


def _woken(life: Life, since: date) -> date | None:
    """Return the day a plant under a roof was woken or began to grow, or None while it rests."""
    if life.phase is not Phase.WAKING or life.phase_since < since:
        return None
    return life.phase_since


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


def replanting(step: Step, policy: Policy, *, plots_kept: bool = True) -> Step:
    """Return the replanting of a kept plant with what sets it apart from a seedling's planting."""
    if not plots_kept:
        bed = "Plots are given out anew here: ask which bed is yours, and what stood in it."
    elif policy.of("perennial_bed") == "move":
        years = policy.of("rotation_gap")
        bed = f"Choose a bed where its family has not stood for {years} years."
    else:
        bed = "It may go back into its bed: watch that for wilting, spots and rot."
    kept = "A kept plant is in bud or fruit when seedlings are just going out."
    return replace(step, reason=f"{step.reason} {kept} {bed}")

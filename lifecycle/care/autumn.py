"""Before the winter: a back-up, the label, the last pick, and clearing what is not kept."""

from datetime import date, timedelta

from lifecycle.care.outlook import Outlook
from lifecycle.care.seasons import Season
from lifecycle.care.steps import Step, Window, ahead_of
from lifecycle.care.summer import times_set_out_again
from lifecycle.handbook import days, fact
from lifecycle.life.fold import Life
from lifecycle.life.kinds import Kind
from lifecycle.life.phases import Route

BEFORE_FREEZE = 2
"""Number of the last pick before the freeze; one before lifting or clearing is number 1."""

NOT_KEPT = frozenset({Route.LET_GO, Route.CUTTING})

_CHILLED_BELOW = {
    "pepper": fact("storage_chill.pepper"),
    "tomato": fact("storage_chill.tomato"),
    "eggplant": fact("storage_chill.eggplant"),
}


def before_winter(life: Life, current: Season, route: Route, outlook: Outlook) -> list[Step]:
    """Return the last pick by route, and for a plant that is kept its back-up and label check.

    Nothing where no lifting and no freeze ends the season.
    """
    ends = season_ends(current, route, outlook)
    if ends is None:
        return []
    steps = last_pick(life, current, ends, outlook)
    if route not in NOT_KEPT:
        steps += back_up(life, current, ends, outlook)
        steps += label_check(life, current, ends, outlook)
    return steps


def season_ends(current: Season, route: Route, outlook: Outlook) -> date | None:
    """Return the day that ends a plant's season outside, or None where nothing does.

    What stays in the ground stands until the freeze of one year in ten, what is lifted until
    then, and what is not kept until it is cleared.
    """
    if route is Route.IN_GROUND:
        return current.first_freeze_risk
    if route in NOT_KEPT and current.lift is not None:
        return clearing(current, outlook).best
    return current.lift.best if current.lift is not None else current.first_freeze_risk


def last_pick(life: Life, current: Season, ends: date, outlook: Outlook) -> list[Step]:
    """Return the last pick before ``ends``, unless fruit was picked in the week before."""
    limit = _CHILLED_BELOW[outlook.crop.group]
    window = ahead_of(
        ends, days("last_pick.before_max"), days("last_pick.before"), days("last_pick.before_min")
    )
    if life.lifted_on is not None or not outlook.reaches(window.earliest):
        return []
    if life.since(Kind.PICKED, window.earliest) is not None:
        return []
    ripening = fact("last_pick.ripening")
    reason = f"{_before(current, ends)}: pick all that is full-grown, green too."
    if outlook.crop.group == "eggplant":
        reason += " It does not ripen further."
    else:
        reason += f" It ripens indoors at {{{ripening.si:.2f} C}} to {{{ripening.si_high:.2f} C}}."
    reason += f" Stored below {{{limit.si_high:.2f} C}} it is chilled."
    return [
        Step(
            "last_pick",
            current.year,
            (BEFORE_FREEZE if ends == current.first_freeze_risk else 1)
            + BEFORE_FREEZE * times_set_out_again(life, current),
            window,
            window.earliest,
            "the end of the season",
            reason,
            limit.source,
        )
    ]


def _before(current: Season, ends: date) -> str:
    if ends == current.first_freeze_risk:
        return f"One year in ten has a freeze by {{{ends}}}"
    return f"Its season ends best on {{{ends}}} here"


def back_up(life: Life, current: Season, ends: date, outlook: Outlook) -> list[Step]:
    """Return the back-up of a plant that is kept: done by saving its seed or taking a cutting.

    Saving seed is what the step asks for: it needs no room in winter and outlives any loss.
    """
    window = ahead_of(
        ends, days("backup.before_max"), days("backup.before"), days("backup.before_min")
    )
    if not outlook.reaches(window.earliest):
        return []
    since = _counted_from(current, ends, days("backup.before_max"))
    if any(life.since(kind, since) is not None for kind in (Kind.SEED_SAVED, Kind.CUTTING_TAKEN)):
        return []
    reason = (
        f"Before {{{ends}}} save ripe seed of what you keep, or take a cutting: no survival rate "
        "is published for kept plants, so plan on losses. Seed of plants that flowered side by "
        "side may not come true; take none from one that looks sick."
    )
    return [
        Step(
            "backup",
            current.year,
            1 + times_set_out_again(life, current),
            window,
            since,
            "the end of the season",
            reason,
            "practice",
        )
    ]


def label_check(life: Life, current: Season, ends: date, outlook: Outlook) -> list[Step]:
    """Return the look at the label while leaves and fruit still tell which plant it is.

    Of a plant in doubt it is asked only once the doubt is settled (``identity``).
    """
    window = ahead_of(
        ends,
        days("label_check.before_max"),
        days("label_check.before"),
        days("label_check.before_min"),
    )
    if life.in_doubt or not outlook.reaches(window.earliest):
        return []
    since = _counted_from(current, ends, days("label_check.before_max"))
    if life.since(Kind.LABELLED, since) is not None:
        return []
    reason = (
        f"Before {{{ends}}}, while leaves and fruit still show which plant it is: read its label, "
        "write a fresh one, and tie it to the stem. Bare plants all look alike."
    )
    return [
        Step(
            "label_check",
            current.year,
            1 + times_set_out_again(life, current),
            window,
            since,
            "the end of the season",
            reason,
            "practice",
        )
    ]


def _counted_from(current: Season, ends: date, ahead: int) -> date:
    """Return ``ahead`` days before the first end a season may have, whatever is decided later."""
    first = ends if current.lift is None else min(ends, current.lift.best)
    return first - timedelta(ahead)


def clearing(current: Season, outlook: Outlook) -> Window:
    """Return the window to clear what is not kept: a tomato stands until the freeze.

    In a bed that must be clear by a day, until then at the latest.
    """
    window, risk = current.autumn, current.first_freeze_risk
    if outlook.crop.group != "tomato" or risk is None:
        return current.in_time(window)
    best = max(window.best, risk)
    latest = best + timedelta(days("clearing.after_freeze"))
    return current.in_time(Window(window.earliest, best, max(window.latest, latest)))


def parting(life: Life, current: Season, route: Route, outlook: Outlook) -> list[Step]:
    """Return the end of a plant that is not kept itself: its cuttings, then clearing it."""
    window = clearing(current, outlook)
    if route is not Route.CUTTING:
        return _cleared(current, window, _why_cleared(outlook))
    ahead = Window(
        window.earliest - timedelta(21), window.earliest, max(window.best, window.earliest)
    )
    since = ahead.earliest - timedelta(30)
    if life.since(Kind.CUTTING_TAKEN, since) is not None:
        return _cleared(
            current, window, "Its cuttings are taken: clear the parent before the frost."
        )
    if current.clear_by is not None and current.clear_by < outlook.today:
        return _cleared(current, window, "Take its cuttings with you, if any are still to be had.")
    why = "Kept as a cutting: take it from sound young wood before the cold."
    return [_parted("take_cutting", current, ahead, why)]


def _why_cleared(outlook: Outlook) -> str:
    if outlook.crop.group == "pepper":
        return "Not kept: save ripe seed, then clear it."
    return (
        "Tomatoes and eggplants would live on in warmth, but are seldom worth their winter space: "
        "save ripe seed, then clear it. Decide otherwise to keep it."
    )


def _cleared(current: Season, window: Window, why: str) -> list[Step]:
    return [_parted("let_go", current, window, why)]


def _parted(kind: str, current: Season, window: Window, why: str) -> Step:
    since = window.earliest - timedelta(60)
    return Step(kind, current.year, 1, window, since, "the winter", why, "practice")

"""How a winter ended for a plant: first growth is looked for, and waited for."""

from datetime import date, timedelta

from lifecycle.care.ground_winter import cut_back_in_ground
from lifecycle.care.outlook import Outlook, Weather
from lifecycle.care.seasons import OVERDUE, Season
from lifecycle.care.spring import wake_window
from lifecycle.care.steps import Step, Window
from lifecycle.handbook import days
from lifecycle.life.fold import Life
from lifecycle.life.kinds import Kind
from lifecycle.life.phases import Phase

_SEEN = (Kind.FIRST_GROWTH, Kind.FIRST_FLOWER, Kind.PICKED)
_HARD = frozenset({"frost", "cold", "hail"})
_WINTER = timedelta(days=240)
"""How long before a season starts the winter before it may have begun."""


def indoors(life: Life, coming: Season, since: date, outlook: Outlook, waits: str) -> list[Step]:
    """Return the look for first growth of a plant that rested under a roof since ``since``.

    It waits for ``waits`` while the plant is not yet woken.
    """
    if life.since(Kind.FIRST_GROWTH, since) is not None:
        return []
    begins = wake_window(coming, outlook.policy).not_before(since).best
    if life.phase is Phase.WAKING:
        begins = max(life.phase_since, since)
    return _look(life, coming, begins, since, "waking", outlook, waits)


def in_ground(life: Life, current: Season, outlook: Outlook) -> list[Step]:
    """Return the look for first growth of a plant that stood out through a frosty winter.

    ``current`` is the season that the winter leads into. One that still bears waits for its
    cutback.
    """
    if not outlook.dates.frosty or (life.planted_out_on or life.began_on) >= current.starts:
        return []
    begins = current.spring_freeze_risk or current.plant_out.earliest
    since = min(begins, current.starts)
    if any(life.since(kind, since) is not None for kind in _SEEN):
        return []
    waits = ""
    if life.phase is Phase.BEARING:
        cut = cut_back_in_ground(life, current, outlook.dates)
        if cut is None or cut.window.latest + timedelta(OVERDUE) < outlook.today:
            return []
        waits = cut.kind
    return _look(life, current, begins, since, "the last frost", outlook, waits)


def hard_winter(life: Life, coming: Season, outlook: Outlook) -> tuple[str, ...]:
    """Return what hurt a plant since the autumn before ``coming``: frost, cold or hail."""
    autumn = coming.starts - _WINTER
    found = []
    damage = life.last_choice.get(Kind.DAMAGE)
    if damage in _HARD and life.since(Kind.DAMAGE, autumn) is not None:
        found.append(damage)
    if any(each.weather is Weather.HAIL and each.began >= autumn for each in outlook.events):
        found.append("hail")
    return tuple(dict.fromkeys(found))


def _look(
    life: Life,
    coming: Season,
    begins: date,
    since: date,
    anchor: str,
    outlook: Outlook,
    waits: str,
) -> list[Step]:
    if not outlook.reaches(begins):
        return []
    hurt = hard_winter(life, coming, outlook)
    latest = begins + timedelta(days("new_growth.slow") if hurt else days("wake.unseen_after"))
    window = Window(begins, begins + timedelta(days("new_growth.after")), latest)
    slow = f"After {' and '.join(hurt)} it comes back slowly: " if hurt else ""
    wait = f"{slow}wait until {{{latest}}} before calling it dead, and scratch the bark first."
    reason = (
        f"Looked for from {{{begins}}}: note the first green shoot, which tells that it lived "
        f"through the winter, or that it died. {wait[0].upper()}{wait[1:]}"
    )
    return [Step("first_growth", coming.year, 1, window, since, anchor, reason, "practice", waits)]

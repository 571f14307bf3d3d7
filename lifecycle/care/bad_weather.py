"""Heat wave, hail and flood: what they put off, and what they call for.

The practices are common practice, no source.
"""

from dataclasses import dataclass, replace
from datetime import date, timedelta

from lifecycle.care.outlook import Outlook, SiteEvent, Weather
from lifecycle.care.steps import Step, Window
from lifecycle.handbook import days, fact
from lifecycle.life.fold import Life
from lifecycle.life.growing_year import growing_year_of, growing_year_start
from lifecycle.life.kinds import Kind

_PLANTING = frozenset({"plant_out", "replant"})
_FEEDING = frozenset({"first_feed", "feed"})
_CUTTING = frozenset({"cut_back"})
_WATERING = frozenset({"heat_water"})
_LOOKED_OVER = (Weather.HAIL, Weather.FLOOD)


@dataclass(frozen=True, slots=True)
class _Hold:
    """Kinds of step that nothing before ``until`` should see done, and why."""

    kinds: frozenset[str]
    until: date
    why: str


def changed(steps: list[Step], life: Life, outlook: Outlook) -> list[Step]:
    """Return the steps with those that bad weather puts off moved behind it, and saying so.

    Under a roof only planting is held: what stands there is not in the weather.
    """
    holds = [
        hold
        for event in _begun(outlook)
        for hold in _holds(event, outlook.today)
        if hold.until > outlook.today and (not life.under_roof or hold.kinds is _PLANTING)
    ]
    return [_held(step, holds) for step in steps] if holds else steps


def after(life: Life, outlook: Outlook) -> list[Step]:
    """Return what bad weather calls for on a plant that stood in it: water, or a look-over."""
    if life.under_roof:
        return []
    stood_since = life.planted_out_on or life.began_on
    steps: list[Step] = []
    for event in _begun(outlook):
        if stood_since > (event.ended or outlook.today):
            continue
        if event.weather is Weather.HEAT:
            steps += _water(life, event, outlook)
        else:
            steps += _look_over(life, event, outlook)
    return steps


def _begun(outlook: Outlook) -> list[SiteEvent]:
    return [event for event in outlook.events if event.began <= outlook.today]


def _lasts(event: SiteEvent, today: date) -> bool:
    return event.ended is None or event.ended >= today


def _ends(event: SiteEvent, today: date) -> date:
    """Return its last day; of one that nobody ended the day before it is looked at again.

    That moves on by whole weeks, so that what is held does not move every day.
    """
    if event.ended is not None:
        return event.ended
    week = days("heat_wave.look_again")
    weeks = (today - event.began).days // week + 1
    return event.began + timedelta(weeks * week - 1)


def _holds(event: SiteEvent, today: date) -> list[_Hold]:
    began, last = event.began, _ends(event, today)
    if event.weather is Weather.HEAT:
        over = last + timedelta(1)
        since = f"heat since {{{began}}}"
        return [
            _Hold(_PLANTING, over, f"{since}: roots just set cannot supply the leaves."),
            _Hold(_FEEDING, over, f"{since}: feed burns dry roots."),
            _Hold(_CUTTING, over, f"{since}: cut plants scald."),
        ]
    if event.weather is Weather.HAIL:
        until = began + timedelta(days("hail.no_feed"))
        return [_Hold(_FEEDING, until, f"hail on {{{began}}}: it recovers first.")]
    drained = last + timedelta(days("flood.drain"))
    later = last + timedelta(days("flood.no_feed"))
    since = f"flood since {{{began}}}"
    return [
        _Hold(_PLANTING, drained, f"{since}: the soil drains first."),
        _Hold(_WATERING, drained, f"{since}: no water until the soil has drained."),
        _Hold(_FEEDING, later, f"{since}: roots need air and new growth first."),
    ]


def _held(step: Step, holds: list[_Hold]) -> Step:
    """Return the step behind the last of the holds on it; a cutback indoors goes on."""
    own = [hold for hold in holds if step.kind in hold.kinds and step.window.earliest < hold.until]
    if not own or (step.kind in _CUTTING and step.anchor == "lifting"):
        return step
    last = max(own, key=lambda hold: hold.until)
    return replace(
        step,
        window=step.window.not_before(last.until),
        reason=f"Held to {{{last.until}}}, {last.why} {step.reason}",
    )


def _water(life: Life, event: SiteEvent, outlook: Outlook) -> list[Step]:
    """Return the next deep watering in a heat wave that lasts."""
    if not _lasts(event, outlook.today):
        return []
    year = growing_year_of(event.began, outlook.dates.year_starts_in)
    starts = growing_year_start(year, outlook.dates.year_starts_in)
    watered = [day for day in life.dates.get(Kind.WATERED, []) if day >= starts]
    in_pot = outlook.ground.in_pot
    every = days("heat_wave.pot_every") if in_pot else days("heat_wave.water_every")
    due = since = event.began
    if watered and watered[-1] >= event.began:
        due, since = watered[-1] + timedelta(every), watered[-1] + timedelta(1)
    weekly = fact("heat_wave.weekly")
    often = "every day in a pot" if in_pot else f"every {every} days"
    reason = (
        f"Heat since {{{event.began}}}: water deeply at the foot, early in the day, {often}, "
        f"{{{weekly.si:.0f} mm}} to {{{weekly.si_high:.0f} mm}} a week in all. Leaves that hang at "
        "noon and stand again by evening do not ask for more."
    )
    window = Window(due, due, due + timedelta(1))
    number = len(watered) + 1
    return [Step("heat_water", year, number, window, since, "the heat", reason, "practice")]


def _look_over(life: Life, event: SiteEvent, outlook: Outlook) -> list[Step]:
    """Return the look at a plant after hail or flood, unless it was looked over since."""
    if life.since(Kind.LOOKED_OVER, event.began) is not None:
        return []
    over = event.began if event.ended is None else event.ended
    if event.weather is Weather.HAIL:
        within = days("hail.look_within")
        reason = (
            f"Hail on {{{event.began}}}: within {within} days trim torn growth with clean blades "
            "and tie up what broke. Wait for new shoots before calling it dead."
        )
    else:
        within = days("flood.look_within")
        reason = (
            f"Flood since {{{event.began}}}: throw away fruit that the water touched, let the soil "
            f"drain, and within {within} days wash silt off the leaves and set it upright."
        )
    window = Window(over, over + timedelta(1), over + timedelta(within))
    year = growing_year_of(event.began, outlook.dates.year_starts_in)
    first = growing_year_start(year, outlook.dates.year_starts_in)
    kinds = _LOOKED_OVER
    number = (event.began - first).days * len(kinds) + kinds.index(event.weather) + 1
    return [Step("look_over", year, number, window, event.began, "the weather", reason, "practice")]

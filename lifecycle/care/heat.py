"""Heat: shade on the afternoon side while it threatens set or scald, and light again after it."""

from datetime import date, timedelta

from lifecycle.care.outlook import SiteEvent, Weather
from lifecycle.care.seasons import date_on_or_after
from lifecycle.care.signs import scald
from lifecycle.care.steps import Step, Window
from lifecycle.care.summer import Summer, Why, after
from lifecycle.handbook import days, fact
from lifecycle.life.kinds import Kind

_SETTING = "set_day_limit"
_USUAL_LIMIT_F, _STEP_F = 90, 5


def shading(summer: Summer) -> list[Step]:
    """Return shade to put up, or the shade that stands to take down, of a plant outside."""
    if not summer.life.outside:
        return []
    if _shade_stands(summer):
        return _take_down(summer)
    return _put_up(summer)


def day_limit_c(choice: str) -> float:
    """Return in C the day above which fruit set suffers, as the setting has it in F."""
    return (int(choice) - 32) / 1.8


def _shade_stands(summer: Summer) -> bool:
    up = summer.life.since(Kind.SHADED, summer.current.starts)
    return up is not None and summer.life.since(Kind.UNSHADED, up) is None


def _put_up(summer: Summer) -> list[Step]:
    found = _heat_seen(summer) or _hot_stretch(summer)
    if found is None:
        return []
    window, what, anchor = found
    choice = summer.policy.of(_SETTING)
    share = fact("shading.share")
    how = "Move the pot into" if summer.in_pot else "Put up"
    why = Why(
        anchor,
        f"{what} {how} shade of about {share.si * 100:.0f} % from midday, on the "
        "afternoon side, and keep the morning sun. Fruit set suffers on days above "
        f"{{{day_limit_c(choice):.2f} C}}.",
        share.source,
        _SETTING,
    )
    return summer.placed("shade", _times_shaded(summer) + 1, Kind.SHADED, window, why)


def _take_down(summer: Summer) -> list[Step]:
    today = summer.outlook.today
    if any(event.ended is None or event.ended >= today for event in _heat_waves(summer)):
        return []
    up = summer.life.last_on[Kind.SHADED]
    over = max([up, *(event.ended for event in _heat_waves(summer) if event.ended is not None)])
    stretch = _stretch_end(summer)
    if stretch is not None and _stretch_start(summer, stretch) <= up <= stretch:
        over = max(over, stretch)
    wait = days("shading.down_after")
    why = Why(
        "the heat",
        f"{wait} days after {{{over}}}, the last of the heat or the day shade went up: fruit "
        "ripens and colours in full light.",
        "practice",
        _SETTING,
    )
    window = after(over, wait, wait, wait + 14)
    if summer.current.clear_by is not None:
        window = window.not_after(summer.current.clear_by)
    return summer.placed("unshade", _times_shaded(summer), Kind.UNSHADED, window, why)


def _times_shaded(summer: Summer) -> int:
    shaded = summer.life.dates.get(Kind.SHADED, [])
    return sum(day >= summer.current.starts for day in shaded)


def _heat_waves(summer: Summer) -> list[SiteEvent]:
    back = summer.outlook.today - timedelta(days("shading.looks_back"))
    return [
        event
        for event in summer.outlook.events
        if event.weather is Weather.HEAT and (event.ended is None or event.ended >= back)
    ]


def _heat_seen(summer: Summer) -> tuple[Window, str, str] | None:
    """Heat reported at the site or seen on the plant since shade was last put up or down."""
    settled = max(
        summer.life.since(kind, summer.current.starts) or date.min
        for kind in (Kind.SHADED, Kind.UNSHADED)
    )
    within = days("shading.within")
    seen = scald(summer.life, summer.outlook.today - timedelta(days("shading.looks_back")))
    if seen is not None and seen > settled:
        return after(seen, 0, 0, within), f"Heat or scald was seen on {{{seen}}}.", "the plant"
    waves = [event.began for event in _heat_waves(summer) if event.began > settled]
    if not waves:
        return None
    began = max(waves)
    return after(began, 0, 0, within), f"Heat since {{{began}}}.", "the weather"


def _hot_stretch(summer: Summer) -> tuple[Window, str, str] | None:
    """The site's own weeks of nights too hot to set fruit, where its record knows them."""
    end = _stretch_end(summer)
    if end is None or end < summer.outlook.today or _times_shaded(summer):
        return None
    start = _stretch_start(summer, end)
    if end - start <= timedelta(days("shading.down_after")):
        return None
    what = f"Nights here are too hot to set fruit until {{{end}}} in most years."
    return Window(start, start, end), what, "hot nights"


def _stretch_end(summer: Summer) -> date | None:
    last = summer.outlook.dates.hot_until
    if last is None:
        return None
    end = date_on_or_after(last, summer.out_on)
    return end if end <= summer.ends else None


def _stretch_start(summer: Summer, end: date) -> date:
    """The stricter the limit, the sooner days pass it."""
    stricter = (_USUAL_LIMIT_F - int(summer.policy.of(_SETTING))) // _STEP_F
    ahead = days("shading.stretch") + stricter * days("shading.per_step")
    return max(end - timedelta(ahead), summer.out_on)

"""While it stands outside: feeding, and the decision to keep or let go."""

from datetime import date, timedelta

from lifecycle.care.outlook import Outlook
from lifecycle.care.seasons import Season
from lifecycle.care.steps import Step, Window, ahead_of
from lifecycle.handbook import days
from lifecycle.life.fold import Life
from lifecycle.life.kinds import Kind
from lifecycle.life.phases import Route

MOST_FEEDS = 40
LATE = 7
"""Days after its best day by which a feed of the series is due."""


def feeds(
    life: Life,
    current: Season,
    out_on: date,
    outlook: Outlook,
    *,
    newly_out: bool,
    ends: date | None,
    waits_for: str,
) -> list[Step]:
    """Return the feeds of one season: the first, then one every three weeks until ``ends``.

    ``out_on`` is the planting date, or for a plant that stood out all winter the day
    feeding may resume. ``ends`` None: no end but the next season.
    """
    this_season = [day for day in life.dates.get(Kind.FED, []) if day >= current.starts]
    given = [day for day in this_season if day >= _first_out(life, current, out_on)]
    last_day = ends or current.plant_out.best + timedelta(350)
    if outlook.today > last_day + timedelta(LATE):
        return []
    if given:
        last = max(given[-1], out_on)
        return _series(current, len(this_season) + 1, last, out_on, outlook, last_day, waits_for)
    window = _first_window(out_on, newly_out)
    if window.best > last_day:
        return []
    first = _first(current, window, out_on, newly_out, waits_for)
    last = max(window.best, outlook.today)
    number, waits = len(this_season) + 2, waits_for or "first_feed"
    return [first, *_series(current, number, last, out_on, outlook, last_day, waits)]


def feeds_inside(
    life: Life, winter: Season, inside_since: date, outlook: Outlook, *, ends: date
) -> list[Step]:
    """Return the feeds of a plant that grows on indoors: the series of its season goes on."""
    this_season = [day for day in life.dates.get(Kind.FED, []) if day >= winter.starts]
    last = max([*this_season[-1:], inside_since - timedelta(days("feed.every") - 7)])
    return _series(winter, len(this_season) + 1, last, winter.starts, outlook, ends, "")


def feeding_resumes(life: Life, current: Season, *, frosty: bool) -> date:
    """Return the day from which a plant that stood out all winter is fed again."""
    if frosty:
        return current.spring_freeze_risk or current.plant_out.earliest
    fed = life.since(Kind.FED, current.starts - timedelta(days("feed.every")))
    if fed is None or fed >= current.starts:
        return current.starts
    return fed + timedelta(days("feed.every"))


def _first_out(life: Life, current: Season, out_on: date) -> date:
    """Return the first planting out of a season, however often it was moved since."""
    planted = [day for day in life.dates.get(Kind.PLANTED_OUT, []) if day >= current.starts]
    return min([out_on, *planted[:1]])


def _series(
    current: Season,
    number: int,
    last: date,
    counts_from: date,
    outlook: Outlook,
    ends: date,
    waits: str,
) -> list[Step]:
    """Return feeds from ``last`` on; after one that is overdue the next counts from today."""
    steps: list[Step] = []
    while len(steps) < MOST_FEEDS:
        best = last + timedelta(days("feed.every"))
        if best > ends or not outlook.reaches(best):
            break
        steps.append(_next(current, number, best, last, counts_from, "feed" if steps else waits))
        last, number = max(best, outlook.today), number + 1
    return steps


def _first_window(out_on: date, newly_out: bool) -> Window:
    if newly_out:
        first, last = days("feed.first_min"), days("feed.first_max")
        return Window(
            out_on + timedelta(first),
            out_on + timedelta((first + last) // 2),
            out_on + timedelta(last),
        )
    return Window(out_on, out_on + timedelta(7), out_on + timedelta(21))


def _first(current: Season, window: Window, out_on: date, newly_out: bool, waits: str) -> Step:
    if newly_out:
        reason = (
            f"Three to four weeks after planting out on {{{out_on}}}. "
            "Little nitrogen for young peppers; follow the label."
        )
    elif current.spring_freeze_risk is None:
        reason = "It stood out all year: feeding goes on every three weeks. Follow the label."
    else:
        reason = (
            f"The danger of frost is past by {{{out_on}}} in most years: feeding may begin again. "
            "Follow the label."
        )
    return Step(
        "first_feed", current.year, 1, window, out_on, "planting out", reason, "clemson", waits
    )


def _next(current: Season, number: int, best: date, last: date, out_on: date, waits: str) -> Step:
    return Step(
        "feed",
        current.year,
        number,
        Window(best, best, best + timedelta(LATE)),
        out_on,
        "the feed before",
        f"Every three weeks; the feed before is that of {{{last}}}. Follow the label.",
        "practice",
        waits,
    )


def review(life: Life, current: Season) -> Step | None:
    """Return the decision to keep or let go, unless it was taken this season."""
    best = current.autumn.best
    window = ahead_of(
        best,
        days("review.before_lift_max"),
        days("review.before_lift"),
        days("review.before_lift_min"),
    )
    counts_from = window.earliest - timedelta(30)
    if life.since(Kind.REVIEWED, counts_from) is not None:
        return None
    if current.lift is not None:
        reason = (
            f"Lifting falls best on {{{best}}} here. Choose what is healthy and worth its "
            "winter space while there is time."
        )
    else:
        reason = "Once a year: keep what is healthy and still crops well; let the rest go."
    return Step("review", current.year, 1, window, counts_from, "the winter", reason, "bucks")


def decided_route(life: Life, current: Season, *, keeps_in_ground: bool) -> Route:
    """Return the route decided this season, or the site's usual one."""
    counts_from = current.autumn.best - timedelta(days("review.before_lift_max") + 30)
    if life.route is not None and life.since(Kind.REVIEWED, counts_from) is not None:
        return life.route
    return Route.IN_GROUND if keeps_in_ground else Route.RESTING


def last_feed_day(current: Season, *routes: Route) -> date | None:
    """Return the last day to feed: well before lifting, or before frost can harm soft growth.

    Of several routes the one that ends first counts: a late decision brings no late feed.
    """
    days_given = [_last_feed_day(current, route) for route in routes]
    known = [day for day in days_given if day is not None]
    return min(known) if known else None


def _last_feed_day(current: Season, route: Route) -> date | None:
    if route in (Route.RESTING, Route.GROWING_ON) and current.lift is not None:
        return current.lift.best - timedelta(days("feed.last_before_lift"))
    return current.feeding_ends_in_ground

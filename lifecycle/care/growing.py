"""While it stands outside: the steps of its summer, feeding, and the decision to keep or let go."""

from dataclasses import dataclass
from datetime import date, timedelta

from lifecycle.care import flowers, harvest, heat, setting_out, training
from lifecycle.care.outlook import Outlook
from lifecycle.care.seasons import Season
from lifecycle.care.signs import cold_shock
from lifecycle.care.steps import Step, Window, ahead_of
from lifecycle.care.summer import WHOLE_YEAR, Summer, after, first_out, times_set_out_again
from lifecycle.handbook import days, fact
from lifecycle.life.fold import Life
from lifecycle.life.kinds import Kind
from lifecycle.life.phases import Route

LATE = 7
"""Days after its best day by which a feed of the series is due."""


def through_the_summer(
    life: Life, current: Season, out_on: date, outlook: Outlook, *, newly_out: bool
) -> list[Step]:
    """Return the work of one season beside feeding: setting out, support, flowers, shade, harvest.

    ``out_on`` and ``newly_out`` as for ``feeds``. For a plant not yet out, give the life as it
    is: what was done this season is not asked for again.
    """
    if not life.outside:
        out_on = max(out_on, outlook.today)
    summer = Summer(life, current, out_on, outlook, newly_out)
    if not outlook.reaches(out_on):
        return []
    return [
        *setting_out.after_planting(summer),
        *training.supported(summer),
        *flowers.first_flowers_out(summer),
        *heat.shading(summer),
        *harvest.rounds(summer),
    ]


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
    given = [day for day in this_season if day >= first_out(life, current, out_on)]
    last_day = ends or current.plant_out.best + WHOLE_YEAR
    if outlook.today > last_day + timedelta(LATE):
        return []
    rounds = _Rounds(current, out_on, outlook, last_day, named=ends is not None)
    if given:
        return rounds.after(max(given[-1], out_on), len(this_season) + 1, waits_for)
    first = _first(Summer(life, current, out_on, outlook, newly_out), waits_for, last_day)
    if first is None:
        return []
    last = max(first.window.best, outlook.today)
    return [first, *rounds.after(last, len(this_season) + 2, waits_for or "first_feed")]


def feeds_inside(
    life: Life, winter: Season, inside_since: date, outlook: Outlook, *, ends: date
) -> list[Step]:
    """Return the feeds of a plant that grows on indoors: the series of its season goes on."""
    this_season = [day for day in life.dates.get(Kind.FED, []) if day >= winter.starts]
    last = max([*this_season[-1:], inside_since - timedelta(days("feed.every") - 7)])
    rounds = _Rounds(winter, winter.starts, outlook, ends, named=False)
    return rounds.after(last, len(this_season) + 1, "")


def feeding_resumes(life: Life, current: Season, *, frosty: bool) -> date:
    """Return the day from which a plant that stood out all winter is fed again."""
    if frosty:
        return current.spring_freeze_risk or current.plant_out.earliest
    fed = life.since(Kind.FED, current.starts - timedelta(days("feed.every")))
    if fed is None or fed >= current.starts:
        return current.starts
    return fed + timedelta(days("feed.every"))


@dataclass(frozen=True, slots=True)
class _Rounds:
    """Feeds every three weeks until ``last_day``; ``named``: the last of them is called so."""

    current: Season
    counts_from: date
    outlook: Outlook
    last_day: date
    named: bool

    def after(self, last: date, number: int, waits: str) -> list[Step]:
        """Return feeds from ``last`` on; after one that is overdue the next counts from today."""
        steps: list[Step] = []
        every = timedelta(days("feed.every"))
        while (best := last + every) <= self.last_day and self.outlook.reaches(best):
            steps.append(self._next(number, best, last, "feed" if steps else waits))
            last, number = max(best, self.outlook.today), number + 1
        return steps

    def _next(self, number: int, best: date, last: date, waits: str) -> Step:
        final = self.named and best + timedelta(days("feed.every")) > self.last_day
        until = f" The last: feeding ends on {{{self.last_day}}}." if final else ""
        return Step(
            "feed",
            self.current.year,
            number,
            Window(best, best, best + timedelta(LATE)),
            self.counts_from,
            "the feed before",
            f"Every three weeks; the feed before is that of {{{last}}}. Follow the label.{until}",
            "practice",
            waits,
        )


def _first(summer: Summer, waits: str, last_day: date) -> Step | None:
    """Return the first feed of a season, sooner after cold shock; None when it is too late."""
    shock = _early_shock(summer)
    if shock is not None:
        window = after(shock, 0, 0, days("cold_shock.feed_within"))
        reason = (
            f"Cold shock and a short feed showed on {{{shock}}}: feed now, not three to four "
            f"weeks after planting out. {_what(summer)}"
        )
        source = "practice"
    else:
        window, reason, source = _usual_first(summer)
    if window.best > last_day:
        return None
    current, out_on = summer.current, summer.out_on
    return Step(
        "first_feed", current.year, 1, window, out_on, "planting out", reason, source, waits
    )


def _early_shock(summer: Summer) -> date | None:
    """Return the day cold shock was seen on a plant newly out, ahead of its usual first feed."""
    if not summer.newly_out:
        return None
    seen = cold_shock(summer.life, summer.first_out)
    if seen is None or seen > summer.out_on + timedelta(days("feed.first_min")):
        return None
    return seen


def _usual_first(summer: Summer) -> tuple[Window, str, str]:
    out_on = summer.out_on
    if summer.newly_out:
        first, last = days("feed.first_min"), days("feed.first_max")
        reason = f"Three to four weeks after planting out on {{{out_on}}}. {_what(summer)}"
        return (
            after(out_on, first, (first + last) // 2, last),
            reason,
            fact("feed.first_min").source,
        )
    window = after(out_on, 0, 7, 21)
    if summer.current.spring_freeze_risk is None:
        reason = "It stood out all year: feeding goes on every three weeks. Follow the label."
    else:
        reason = (
            f"The danger of frost is past by {{{out_on}}} in most years: feeding may begin again. "
            "Follow the label."
        )
    return window, reason, fact("feed.every").source


def _what(summer: Summer) -> str:
    if summer.crop.group == "pepper" and not summer.kept:
        return "Little nitrogen for young peppers: an analysis such as 2-4-2, by the label."
    return "Too much nitrogen makes leaves instead of fruit: follow the label."


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
    number = 1 + times_set_out_again(life, current)
    return Step("review", current.year, number, window, counts_from, "the winter", reason, "bucks")


def decided_route(life: Life, current: Season, *, usual: Route) -> Route:
    """Return the route decided this season, or else the usual one."""
    counts_from = current.autumn.best - timedelta(days("review.before_lift_max") + 30)
    if life.route is not None and life.since(Kind.REVIEWED, counts_from) is not None:
        return life.route
    return usual


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

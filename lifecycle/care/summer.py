"""One season of one plant as the steps of summer see it, and how they place a step in it."""

from dataclasses import dataclass
from datetime import date, timedelta

from lifecycle.care.outlook import Outlook
from lifecycle.care.policy import Policy
from lifecycle.care.seasons import Season
from lifecycle.care.steps import Step, Window
from lifecycle.handbook import Crop
from lifecycle.life.fold import Life, why_not
from lifecycle.life.kinds import RULES, Kind
from lifecycle.life.phases import Phase

WHOLE_YEAR = timedelta(days=350)
"""From the best day to plant out to the end of a season that nothing else ends."""

_YOUNG = frozenset({Phase.SEEDLING, Phase.HARDENING})
_WINTERED = frozenset({Phase.RESTING, Phase.WAKING})


@dataclass(frozen=True, slots=True)
class Why:
    """What a step hangs on, its reason, whose word it is, and the setting that could change it."""

    anchor: str
    reason: str
    source: str
    setting: str = ""


@dataclass(frozen=True, slots=True)
class Summer:
    """A plant's season outside, come or to come.

    ``out_on`` is the day it went out or should go out, or for a plant that stood out all
    winter the day its care resumes; ``newly_out`` False for that one.
    """

    life: Life
    current: Season
    out_on: date
    outlook: Outlook
    newly_out: bool

    @property
    def crop(self) -> Crop:
        """The crop of the plant."""
        return self.outlook.crop

    @property
    def policy(self) -> Policy:
        """The choices of the site where sources disagree."""
        return self.outlook.policy

    @property
    def in_pot(self) -> bool:
        """Whether it stands outside in a pot; of one not yet out nothing is known."""
        return self.life.outside and self.outlook.ground.in_pot

    @property
    def first_out(self) -> date:
        """The first planting out of the season, however often it was moved since."""
        return first_out(self.life, self.current, self.out_on)

    @property
    def kept(self) -> bool:
        """Whether it lived through a winter: in growth last season, or taken over out of one."""
        return self.life.spans[0].phase in _WINTERED or any(
            span.phase not in _YOUNG and span.since < self.current.starts
            for span in self.life.spans
        )

    @property
    def ends(self) -> date:
        """The last day of work outside: the freeze of one year in ten, else lifting.

        Where the bed must be clear by a day, that day if it comes first.
        """
        ends, by = self._ends, self.current.clear_by
        return ends if by is None else min(ends, by)

    @property
    def _ends(self) -> date:
        lift = self.current.lift
        if self.current.first_freeze_risk is not None:
            return self.current.first_freeze_risk
        return lift.best if lift is not None else self.current.plant_out.best + WHOLE_YEAR

    def once(
        self,
        kind: str,
        entry: Kind,
        window: Window,
        why: Why,
        *,
        stands: int,
        since: date | None = None,
        now: bool = False,
    ) -> list[Step]:
        """Return a step done once a season, unless it is done or no longer of use.

        It stands ``stands`` days past its window. Entries count from ``since``, or from the
        start of the season. ``now``: it is for today, so the entry must be possible today.
        """
        since = since or self.current.starts
        if self.life.since(entry, since) is not None:
            return []
        if self.outlook.today > window.latest + timedelta(stands):
            return []
        return self.placed(kind, 1, entry, window, why, counts_from=since, now=now)

    def again(
        self,
        kind: str,
        entry: Kind,
        first: Window,
        gaps: tuple[int, int, int],
        why: Why,
        *,
        ends: date,
        since: date | None = None,
        now: bool = False,
    ) -> list[Step]:
        """Return the next of a series: ``first``, then ``gaps`` days after the last entry.

        It stays due until it is done or the series ``ends``. Entries move it from ``since``
        on, or from the first planting out.
        """
        counted = [day for day in self.life.dates.get(entry, []) if day >= self.current.starts]
        recent = [day for day in counted if day >= (since or self.first_out)]
        window = first
        if recent:
            window = Window(*(recent[-1] + timedelta(gap) for gap in gaps))
        if max(window.best, self.outlook.today) > ends:
            return []
        return self.placed(kind, len(counted) + 1, entry, window, why, now=now)

    def placed(
        self,
        kind: str,
        number: int,
        entry: Kind,
        window: Window,
        why: Why,
        *,
        counts_from: date | None = None,
        now: bool = False,
    ) -> list[Step]:
        """Return the step, unless it opens too far ahead or its entry cannot be made today."""
        if not self.outlook.reaches(window.earliest):
            return []
        if (now or self.life.outside) and why_not(self.life, RULES[entry]) is not None:
            return []
        return [
            Step(
                kind,
                self.current.year,
                number,
                window,
                counts_from or self.current.starts,
                why.anchor,
                why.reason,
                why.source,
                setting=why.setting,
            )
        ]


def first_out(life: Life, current: Season, out_on: date) -> date:
    """Return the first planting out of a season, however often it was moved since."""
    planted = [day for day in life.dates.get(Kind.PLANTED_OUT, []) if day >= current.starts]
    return min([out_on, *planted[:1]])


def times_set_out_again(life: Life, current: Season) -> int:
    """Return how often it was lifted and set out again in a season: each has an end of its own."""
    lifted = [day for day in life.dates.get(Kind.LIFTED, []) if day >= current.starts]
    times, since = 0, current.starts
    for out in life.dates.get(Kind.PLANTED_OUT, []) if lifted else []:
        times += any(since <= day <= out for day in lifted)
        since = max(since, out + timedelta(1))
    return times


def after(day: date, earliest: int, best: int, latest: int) -> Window:
    """Return the window that lies ``earliest`` to ``latest`` days after ``day``."""
    return Window(day + timedelta(earliest), day + timedelta(best), day + timedelta(latest))

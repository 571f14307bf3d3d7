"""Windows that a forecast closes: what must be done before a killing night is told at once.

A task is promoted while one of the coming nights falls to its plant's killing limit with at least
the chance from which the site acts, and told once to whoever minds it. When the forecast relents
to half of that, it is an ordinary task again and nothing more is said; a promotion on a later day
is news again. Nights are taken as ``frost_watch`` judged them; old forecasts change nothing.
"""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from django.db import transaction
from django.db.models import Q

from lifecycle.agronomy.night_odds import NightLow, low_after
from lifecycle.care.closing_windows import CLOSED_BY_COLD, closing_low
from lifecycle.care.frost_call import CALLED_OFF_UNDER, NIGHTS_AHEAD
from lifecycle.care.frost_words import chance_words
from lifecycle.life.phases import Phase
from lifecycle.models import FrostNight, Site, Task, TaskEvent
from lifecycle.records.work.task_history import note
from lifecycle.reminders.weather.night_forecasts import error_for, prior_of_site
from lifecycle.reminders.work.audience import open_tasks
from lifecycle.reminders.work.promotion_telling import tell_promoted


def promote_all(*, now: datetime) -> int:
    """Promote what the forecasts close, at every site. Returns how many tasks changed."""
    return sum(promote_site(site, now=now) for site in Site.objects.order_by("pk"))


def promote_site(site: Site, *, now: datetime) -> int:
    """Promote and release the tasks of one site, and tell of new promotions; returns changes."""
    today = site.local_day(now)
    until = today + timedelta(NIGHTS_AHEAD)
    tasks = list(
        open_tasks(site)
        .filter(Q(earliest__lte=until) | Q(promoted_on__isnull=False), kind__in=CLOSED_BY_COLD)
        .select_related("plant__variety", "plant__place", "sowing__variety", "sowing__place")
    )
    if not tasks:
        return 0
    nights = _Nights(site, today, until, now)
    closing: dict[int, FrostNight] = {}
    groups: defaultdict[str, list[Task]] = defaultdict(list)
    relented: list[int] = []
    for task in tasks:
        limit = _limit_of(task)
        night = nights.first_below(limit, 1.0) if limit is not None else None
        if night is not None and limit is not None:
            closing[task.pk] = night
            groups[_why(night, limit, nights.chance(night, limit))].append(task)
        elif task.promoted_on and nights.relent(task.promoted_on, limit):
            relented.append(task.pk)
    changed = _release(relented)
    changed += sum(_promote(group, why, today, now) for why, group in groups.items())
    if closing:
        tell_promoted(site, closing, now=now)
    return changed


def _limit_of(task: Task) -> float | None:
    record = task.plant or task.sowing
    assert record is not None
    place = record.place
    return closing_low(
        task.kind,
        record.variety.species,
        Phase(record.phase),
        sheltered=place is not None and place.sheltered,
        in_pot=place is not None and place.in_pots,
    )


def _why(night: FrostNight, limit_c: float, chance: float) -> str:
    return (
        f"the night of {{{night.night}}} may fall to {{{limit_c:.2f} C}} or below "
        f"({chance_words(chance)}), and that kills the plant."
    )


def _promote(tasks: Sequence[Task], why: str, today: date, now: datetime) -> int:
    """Note the promotion, or a new chance of one that stands; returns how many are new."""
    new = [task.pk for task in tasks if task.promoted_on is None]
    fresh = _promote_new(new, why, today, now) if new else 0
    other = [task.pk for task in tasks if task.promoted_on and task.promoted_why != why]
    if other:
        Task.objects.filter(pk__in=other).update(promoted_why=why)
    return fresh


def _promote_new(ids: list[int], why: str, today: date, now: datetime) -> int:
    with transaction.atomic():
        locked = Task.objects.select_for_update().filter(
            pk__in=ids, state=Task.State.OPEN, promoted_on__isnull=True
        )
        fresh = list(locked.order_by("pk"))
        Task.objects.filter(pk__in=[task.pk for task in fresh]).update(
            promoted_on=today, promoted_why=why
        )
        note(fresh, TaskEvent.Act.PROMOTED, now=now, why=why)
    return len(fresh)


def _release(ids: list[int]) -> int:
    if not ids:
        return 0
    return Task.objects.filter(pk__in=ids).update(promoted_on=None, promoted_why="")


@dataclass(slots=True)
class _Nights:
    """The coming nights of a site that were judged from fresh forecasts, and their chances."""

    site: Site
    today: date
    until: date
    now: datetime
    rows: list[FrostNight] = field(init=False)
    _lows: dict[int, NightLow] = field(init=False, default_factory=dict)

    def __post_init__(self) -> None:
        judged = FrostNight.objects.filter(
            site=self.site, night__range=(self.today, self.until), forecast__isnull=False
        )
        judged = judged.exclude(state=FrostNight.State.OVER).filter(stale=False)
        self.rows = list(judged.select_related("forecast", "site__garden").order_by("night"))

    def chance(self, night: FrostNight, limit_c: float) -> float:
        """Return the chance that a night falls to a limit."""
        if night.pk not in self._lows:
            lead = (night.night - self.today).days
            error = error_for(self.site, lead, night.calm, self.now)
            assert night.forecast is not None
            self._lows[night.pk] = low_after(
                night.forecast.low_c, error, prior_of_site(self.site), night.night
            )
        return self._lows[night.pk].chance(limit_c)

    def first_below(self, limit_c: float, share: float) -> FrostNight | None:
        """Return the first night with ``share`` of the chance from which the site acts."""
        for night in self.rows:
            least = share * night.kill_ratio
            # No plant out there is in more danger than the most tender one.
            if night.kill_chance >= least and self.chance(night, limit_c) >= least:
                return night
        return None

    def relent(self, promoted_on: date, limit_c: float | None) -> bool:
        """Return whether a promotion is over: milder now, under a roof, or its nights are past."""
        if limit_c is None or promoted_on + timedelta(NIGHTS_AHEAD) < self.today:
            return True
        return bool(self.rows) and self.first_below(limit_c, CALLED_OFF_UNDER) is None

"""What a garden's coordinators should see to: counted for the weekly message and their page."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db.models import Count, Q

from lifecycle.care.site_dates import MonthDay
from lifecycle.life.phases import Phase
from lifecycle.models import ForecastSource, FrostNight, Garden, Membership, Message, Plant, Site
from lifecycle.records.ground.out_there import has_plants_out
from lifecycle.records.nights.rota import Stretch, gaps, turns_at
from lifecycle.records.nights.rota_days import days_served
from lifecycle.records.work.away import away_on
from lifecycle.reminders.work.audience import garden_tasks, nobody_of
from lifecycle.reminders.work.planning import climate_of

AHEAD = timedelta(days=7)
"""Days that are looked at, ahead and for frost nights back."""


@dataclass(frozen=True, slots=True)
class Uncovered:
    """Days on which nobody on call at a site is there, in its frost season."""

    site: Site
    days: Stretch


@dataclass(frozen=True, slots=True)
class Gaps:
    """Counts of what is wrong. ``unminded``: tasks due within a week that nobody minds.

    ``late`` counts tasks past their last day; ``offered`` and ``raised`` are those of them that
    others of the bed were asked for, and that nobody took either.
    """

    unminded: int
    late: int
    offered: int
    raised: int
    unheld: int
    failed: int
    forecasts: int
    uncovered: tuple[Uncovered, ...]

    @property
    def any(self) -> bool:
        """Whether anything is wrong."""
        counts = (self.unminded, self.late, self.unheld, self.failed, self.forecasts)
        return any(counts) or bool(self.uncovered)


def gaps_of(garden: Garden, *, today: date, now: datetime) -> Gaps:
    """Return what is wrong in a garden; ``today`` is the day at its first site."""
    members = Membership.objects.filter(
        garden=garden, left_on__isnull=True, person__is_active=True
    ).values("person_id")
    late = Q(latest__lt=today)
    tasks = garden_tasks(garden).aggregate(
        unminded=Count("pk", filter=Q(earliest__lte=today + AHEAD) & nobody_of(members)),
        late=Count("pk", filter=late),
        offered=Count("pk", filter=Q(offered_on__isnull=False, raised_on__isnull=True)),
        raised=Count("pk", filter=Q(raised_on__isnull=False)),
    )
    living = Plant.objects.filter(garden=garden).exclude(phase=Phase.ENDED)
    return Gaps(
        **tasks,
        unheld=living.filter(unheld_by(members)).count(),
        failed=Message.objects.filter(garden=garden, state=Message.State.FAILED).count(),
        forecasts=ForecastSource.objects.filter(garden=garden, failures__gt=0).count(),
        uncovered=tuple(_uncovered(garden, today, now)),
    )


def unheld_by(members: object) -> Q:
    """Return the condition that a plant's holder is none of these people."""
    return Q(holder__isnull=True) | ~Q(holder__in=members)


def _uncovered(garden: Garden, garden_day: date, now: datetime) -> Iterable[Uncovered]:
    # A site's day may be the one before or after that of the garden.
    day = timedelta(1)
    away = away_on(garden.pk, garden_day - day, garden_day + AHEAD + day)
    for site in Site.objects.filter(garden=garden).order_by("pk"):
        today = site.local_day(now)
        if not in_frost_season(site, today):
            continue
        last = today + AHEAD - timedelta(1)
        for stretch in gaps(days_served(turns_at(site, today, last), away), today, last):
            yield Uncovered(site, stretch)


def in_frost_season(site: Site, today: date) -> bool:
    """Whether frost is to be reckoned with: a night was feared lately, or the record says so.

    By the record the season lasts from the day by which one year in ten has its first freeze to
    the day by which nine in ten have had their last; where nothing stands out there is none.
    """
    feared = FrostNight.objects.filter(site=site, night__gte=today - AHEAD)
    if feared.exclude(state__in=[FrostNight.State.QUIET, FrostNight.State.OVER]).exists():
        return True
    if feared.filter(called_at__isnull=False).exists():
        return True
    if not Site.objects.filter(has_plants_out(), pk=site.pk).exists():
        return False
    dates = climate_of(site).dates
    if dates is None or dates.first_freeze_risk is None or dates.last_freeze_risk is None:
        return False
    first, last = dates.first_freeze_risk, dates.last_freeze_risk
    return _within(today, first, last) or _within(today + AHEAD, first, last)


def _within(day: date, first: MonthDay, last: MonthDay) -> bool:
    """Whether a day lies from the first to the last, through the turn of the year if need be."""
    this = (day.month, day.day)
    return first <= this <= last if first <= last else this >= first or this <= last

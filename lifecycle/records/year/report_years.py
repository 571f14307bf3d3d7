"""The growing years of a garden: those of its first site's calendar and clock."""

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from lifecycle.life.growing_year import growing_year_of, growing_year_start
from lifecycle.models import Entry, Garden, Membership

EARLIEST_YEAR = 1950


@dataclass(frozen=True, slots=True)
class Span:
    """The days of one growing year, and the instants between which they lie.

    The instant ``end`` is the first one after it.
    """

    year: int
    first: date
    last: date
    start: datetime
    end: datetime

    def words(self) -> str:
        """Return the days of the year: "1 January to 31 December 2025"."""
        same = self.first.year == self.last.year
        begins = f"{self.first:%-d %B}" if same else f"{self.first:%-d %B %Y}"
        return f"{begins} to {self.last:%-d %B %Y}"


@dataclass(frozen=True, slots=True)
class Years:
    """How a garden counts its years: the month in which one begins, and the clock of its days.

    ``site`` is the name of the site that says so; "": there is none yet.
    """

    starts_in: int
    zone: str
    site: str

    def local_day(self, now: datetime) -> date:
        """Return the day at the instant ``now``."""
        return now.astimezone(ZoneInfo(self.zone)).date()

    def year_of(self, day: date) -> int:
        """Return the growing year that a day belongs to."""
        return growing_year_of(day, self.starts_in)

    def span(self, year: int) -> Span:
        """Return the days of a growing year."""
        first = growing_year_start(year, self.starts_in)
        after = growing_year_start(year + 1, self.starts_in)
        last = after - timedelta(1)
        return Span(year, first, last, self._midnight(first), self._midnight(after))

    def _midnight(self, day: date) -> datetime:
        return datetime.combine(day, time(0), ZoneInfo(self.zone)).astimezone(UTC)


def years_of(garden: Garden) -> Years:
    """Return how a garden counts its years: as its first site does."""
    site = garden.sites.order_by("pk").first()
    if site is None:
        return Years(1, "UTC", "")
    return Years(site.year_starts_in, site.time_zone, site.name)


def known_years(garden: Garden, years: Years, today: date) -> range:
    """Return the growing years of which the record knows anything, up to the one that runs."""
    joined = Membership.objects.filter(garden=garden).order_by("joined_on")
    entered = Entry.objects.filter(garden=garden).order_by("happened_on")
    days = [
        joined.values_list("joined_on", flat=True).first(),
        entered.values_list("happened_on", flat=True).first(),
    ]
    known = [years.year_of(day) for day in days if day is not None]
    this = years.year_of(today)
    return range(max(EARLIEST_YEAR, min([this, *known])), this + 1)

"""What a plan is made under: the site's dates, the day, and how far ahead to look."""

from dataclasses import dataclass
from datetime import date

from lifecycle.care.site_dates import SiteDates


@dataclass(frozen=True, slots=True)
class Nights:
    """The lows in C expected for seven nights, the first being that of ``first``."""

    first: date
    lows_c: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Outlook:
    """Site dates and day of a plan; ``until`` is the last day a step may open, or None.

    ``bench_c`` is the temperature stated for the place the plant or sowing stands in.
    """

    dates: SiteDates
    today: date
    nights: Nights | None = None
    until: date | None = None
    bench_c: float | None = None

    def reaches(self, day: date) -> bool:
        """Whether a step that opens on ``day`` is wanted."""
        return self.until is None or day <= self.until

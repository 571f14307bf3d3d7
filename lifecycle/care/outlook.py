"""What a plan is made under: crop, site, ground, weather behind and ahead, and how far to look."""

from dataclasses import dataclass, field
from datetime import date, timedelta
from enum import StrEnum

from lifecycle.care.bed_rules import NO_RULES, BedRules
from lifecycle.care.policy import Policy
from lifecycle.care.site_dates import SiteDates
from lifecycle.handbook import CROPS, Crop


@dataclass(frozen=True, slots=True)
class Nights:
    """The lows in C expected for seven nights, the first being that of ``first``.

    ``told_by`` names the services they come from; empty: members typed them.
    """

    first: date
    lows_c: tuple[float, ...]
    told_by: str = field(default="", compare=False)

    @property
    def last(self) -> date:
        """The day of the last night."""
        return self.first + timedelta(len(self.lows_c) - 1)

    def still_ahead(self, today: date) -> bool:
        """Whether one of the nights is still to come."""
        return self.last >= today


class Weather(StrEnum):
    """Bad weather that changes the plan of a whole site."""

    HEAT = "heat"
    HAIL = "hail"
    FLOOD = "flood"


@dataclass(frozen=True, slots=True)
class SiteEvent:
    """Bad weather at a site; ``ended`` None while it lasts."""

    weather: Weather
    began: date
    ended: date | None = None


@dataclass(frozen=True, slots=True)
class Ground:
    """What a plant or sowing stands in. ``depth_cm`` None: deep enough; ``wire``: a barrier below.

    ``temperature_c`` and ``bright`` are stated for rooms and benches under cover. ``rules`` are
    those of the bed, or for pots of the beds of their site.
    """

    in_pot: bool = False
    depth_cm: float | None = None
    wire: bool = False
    temperature_c: float | None = None
    bright: bool = False
    rules: BedRules = NO_RULES


@dataclass(frozen=True, slots=True)
class Outlook:
    """Site dates and day of a plan; ``until`` is the last day a step may open, or None.

    ``seed_age`` is the age in years of the seed of a sowing not yet sown, ``seed_test`` the
    share that sprouted in its last test; None: not known.
    """

    dates: SiteDates
    today: date
    nights: Nights | None = None
    until: date | None = None
    crop: Crop = field(default_factory=lambda: CROPS["annuum"])
    ground: Ground = Ground()
    events: tuple[SiteEvent, ...] = ()
    seed_age: int | None = None
    seed_test: float | None = None

    @property
    def policy(self) -> Policy:
        """The choices of the site where sources disagree."""
        return self.dates.policy

    @property
    def bench_c(self) -> float | None:
        """The temperature stated for the place it stands in."""
        return self.ground.temperature_c

    def reaches(self, day: date) -> bool:
        """Whether a step that opens on ``day`` is wanted."""
        return self.until is None or day <= self.until

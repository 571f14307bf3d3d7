"""What cannot be read back later, because its rows change: kept with a closed year.

Memberships are ended and taken up again, plots change hands, a frost night's harm is told late.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from lifecycle.care.frost_limits import KILLING_C
from lifecycle.models import BedHolding, DayReading, FrostNight, Garden, Membership, Place
from lifecycle.records.ground.holdings import runs_on

HELD, COMMON, EMPTY = "held", "common", "empty"


@dataclass(frozen=True, slots=True)
class Stay:
    """One membership: the number of its row, and its days."""

    pk: int
    joined_on: date
    left_on: date | None


@dataclass(frozen=True, slots=True)
class Night:
    """One frost night: whether people were to go, and what it brought."""

    pk: int
    called: bool
    missed: bool
    harm: str


@dataclass(frozen=True, slots=True)
class Kept:
    """The rows of a year as they stood; ``beds`` says by number how each was held.

    ``hours``: the garden kept a ledger of hours.
    """

    stays: tuple[Stay, ...]
    beds: Mapping[int, str]
    nights: tuple[Night, ...]
    hours: bool

    def as_json(self) -> dict[str, Any]:
        """Return it as it is stored with a closed year: numbers only, and never a person's.

        Whoever takes a name out of a garden finds nothing here to change.
        """
        return {
            "stays": [[each.pk, day_number(each.joined_on), _left(each)] for each in self.stays],
            "beds": [[pk, how] for pk, how in self.beds.items()],
            "nights": [[each.pk, each.called, each.missed, each.harm] for each in self.nights],
            "hours": self.hours,
        }

    @classmethod
    def from_json(cls, stored: Mapping[str, Any]) -> "Kept":
        """Return what ``as_json`` stored."""
        return cls(
            stays=tuple(
                Stay(pk, day_of(joined), None if left is None else day_of(left))
                for pk, joined, left in stored["stays"]
            ),
            beds=dict(stored["beds"]),
            nights=tuple(Night(*night) for night in stored["nights"]),
            hours=stored["hours"],
        )


def day_number(day: date) -> int:
    """Return a day as the number 20251231."""
    return day.year * 10_000 + day.month * 100 + day.day


def day_of(number: int) -> date:
    """Return the day that ``day_number`` numbered."""
    return date(number // 10_000, number // 100 % 100, number % 100)


def _left(stay: Stay) -> int | None:
    return None if stay.left_on is None else day_number(stay.left_on)


def kept_now(garden: Garden, first: date, last: date, today: date) -> Kept:
    """Return the rows of the days from ``first`` to ``last`` as they stand now.

    Of a year that runs, plots count as held today.
    """
    return Kept(
        stays=tuple(
            Stay(*row)
            for row in Membership.objects.filter(garden=garden, joined_on__lte=last)
            .exclude(left_on__lt=first)
            .order_by("joined_on", "pk")
            .values_list("pk", "joined_on", "left_on")
        ),
        beds=_beds(garden, min(last, today)),
        nights=_nights(garden, first, min(last, today - timedelta(1))),
        hours=garden.hours_ledger,
    )


def _beds(garden: Garden, day: date) -> dict[int, str]:
    places = Place.objects.filter(garden=garden, kind="bed")
    held = set(
        BedHolding.objects.filter(runs_on(day), garden=garden).values_list("place_id", flat=True)
    )
    return {
        pk: COMMON if common else HELD if pk in held else EMPTY
        for pk, common in places.order_by("pk").values_list("pk", "common")
    }


def _nights(garden: Garden, first: date, last: date) -> tuple[Night, ...]:
    nights = list(
        FrostNight.objects.filter(garden=garden, night__range=(first, last)).order_by("night", "pk")
    )
    read = DayReading.objects.filter(
        garden=garden,
        day__range=(first, last + timedelta(1)),
        tmin_c__isnull=False,
    )
    lows = {
        (site, day - timedelta(1)): low
        for site, day, low in read.values_list("site_id", "day", "tmin_c")
    }
    return tuple(_night(night, lows.get((night.site_id, night.night))) for night in nights)


def _night(night: FrostNight, read_c: float | None) -> Night:
    called = night.called_at is not None and night.called_off_at is None
    low_c = night.lowest_c if night.lowest_c is not None else read_c
    missed = not called and low_c is not None and low_c <= KILLING_C
    return Night(night.pk, called, missed, night.harm)

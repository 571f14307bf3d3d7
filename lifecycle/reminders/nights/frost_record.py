"""The record of a site's frost nights: what was called, and what the night brought."""

from collections.abc import Iterable
from datetime import date, timedelta

from lifecycle.care.frost_limits import KILLING_C
from lifecycle.care.frost_policy import Tally
from lifecycle.models import DayReading, FrostNight


def lows_of(nights: Iterable[FrostNight]) -> dict[int, float]:
    """Return the lowest known of each night in C, by its number; one query for all.

    What somebody said on the night's page goes first, then the thermometer.
    """
    listed = list(nights)
    read: dict[tuple[int, date], float] = {}
    rows = DayReading.objects.filter(
        site__in={night.site_id for night in listed},
        day__in={night.night + timedelta(1) for night in listed},
        tmin_c__isnull=False,
    )
    for row in rows:
        if row.tmin_c is not None:
            read[row.site_id, row.day - timedelta(1)] = row.tmin_c
    found = {}
    for night in listed:
        low = night.lowest_c
        low = read.get((night.site_id, night.night)) if low is None else low
        if low is not None:
            found[night.pk] = low
    return found


def was_called(night: FrostNight) -> bool:
    """Whether people were to go: called, and neither called off nor found not needed."""
    return night.called_at is not None and night.called_off_at is None


def tally_of(nights: Iterable[FrostNight], lows: dict[int, float]) -> Tally:
    """Count the nights whose low is known: called or not, killing (0 C or below) or not."""
    counts = {(called, killing): 0 for called in (True, False) for killing in (True, False)}
    for night in nights:
        if night.pk in lows:
            counts[was_called(night), lows[night.pk] <= KILLING_C] += 1
    return Tally(
        called_killing=counts[True, True],
        called_mild=counts[True, False],
        missed=counts[False, True],
        quiet=counts[False, False],
    )

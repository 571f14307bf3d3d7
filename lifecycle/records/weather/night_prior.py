"""What a site's daily record says of its nights, kept with the record."""

from typing import Any

from lifecycle.agronomy.daily_record import DailyRecord, RecordError, Units
from lifecycle.agronomy.night_prior import NightPrior, prior_of
from lifecycle.agronomy.record_reader import read_daily_record
from lifecycle.agronomy.site_climate import summarise
from lifecycle.models import Site, WeatherRecord

KEPT_AS = "nights"
"""Under this name a record's climate holds them."""

_UNITS: tuple[Units | None, ...] = (None, "C", "F", "tenths")


def nights_as_kept(record: DailyRecord) -> dict[str, Any] | None:
    """Return what a record's climate keeps of its nights; None where it is too short for that."""
    try:
        return dict(prior_of(record).as_stored())
    except ValueError:
        return None


def prior_in_use(site: Site) -> NightPrior | None:
    """Return what the record in use says of the site's nights; None without one, or too short.

    Of a record that was kept without it, it is worked out once.
    """
    row = (
        WeatherRecord.objects.filter(site=site, in_use=True)
        .select_related("site")
        .defer("source_gz")
        .first()
    )
    if row is None:
        return None
    if KEPT_AS not in row.climate:
        record = record_kept(row)
        row.climate[KEPT_AS] = None if record is None else nights_as_kept(record)
        row.save(update_fields=["climate"])
    stored = row.climate[KEPT_AS]
    return None if stored is None else NightPrior.from_stored(stored)


def record_kept(row: WeatherRecord) -> DailyRecord | None:
    """Read a kept record once more; its unit, not kept, is the one of the same climate."""
    for units in _UNITS:
        try:
            record = read_daily_record(
                bytes(row.source_gz), units=units, latitude=row.site.latitude
            )
            summary = summarise(record, latitude=row.site.latitude)
        except RecordError:
            continue
        if summary.as_stored()["curve_c"] == row.climate["curve_c"]:
            return record
    return None

"""What acting from each chance would have cost and caught on a site's own record."""

from dataclasses import asdict
from typing import Any

from django.db import transaction

from lifecycle.care.frost_night import Ratios
from lifecycle.care.frost_policy import Curve, CurvePoint, needs_curve, ratios_of
from lifecycle.care.frost_rehearsed import rehearsed_curve
from lifecycle.models import Site, WeatherRecord
from lifecycle.records.ground.settings import policy_in_force
from lifecycle.records.weather.night_prior import record_kept

KEY = "frost_curve"
"""Where the curve stands beside the climate that was computed from the same record."""


def curve_of(site: Site) -> Curve | None:
    """Return the curve of the site's record; None without a record, or until it is worked out."""
    found = WeatherRecord.objects.filter(site=site, in_use=True).values_list(
        f"climate__{KEY}", flat=True
    )
    stored = found.first()
    return None if not stored else _curve(stored)


def ratios_in_force(site: Site) -> Ratios:
    """Return the chances from which a site acts."""
    policy = policy_in_force(site)
    return ratios_of(policy, curve_of(site) if needs_curve(policy) else None)


def is_missing(site: Site) -> bool:
    """Whether the site's record in use has no curve beside it yet."""
    rows = WeatherRecord.objects.filter(site=site, in_use=True)
    return rows.exclude(climate__has_key=KEY).exists()


def work_out(site: Site, error_sd_c: float) -> Curve | None:
    """Work out the curve of the site's record in use and keep it beside the record.

    ``error_sd_c`` is by how much forecasts of the same day miss. None without a record; without
    points where it is too short, or cannot be read any more. Some tenths of a second for thirty
    years.
    """
    row = WeatherRecord.objects.select_related("site").filter(site=site, in_use=True).first()
    if row is None:
        return None
    record = record_kept(row)
    curve = Curve(0.0, ()) if record is None else rehearsed_curve(record, error_sd_c)
    with transaction.atomic():
        locked = WeatherRecord.objects.select_for_update().defer("source_gz").get(pk=row.pk)
        locked.climate[KEY] = asdict(curve)
        locked.save(update_fields=["climate"])
    return curve


def _curve(stored: dict[str, Any]) -> Curve:
    return Curve(
        stored["years"],
        tuple(CurvePoint(**point) for point in stored["points"]),
        tuple((nights, ratio) for nights, ratio in stored["keeping"]),
    )

"""What a daily record says about a site, and its two written forms: for a page and for a store."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

from lifecycle.agronomy.freeze import FreezeDates, FreezeSide
from lifecycle.agronomy.hardiness import ZoneEstimate
from lifecycle.agronomy.quality import FlatRun
from lifecycle.agronomy.warm_nights import WarmNights
from lifecycle.agronomy.year_grid import Hemisphere

_REPORTED_DECILES = (10, 50, 90)


@dataclass(frozen=True, slots=True)
class RecordSummary:
    """The record behind a climate.

    `first` and `last` are the first and last day with a temperature, `days` the days with a
    usable minimum and `missing` the calendar days between without one, so that days + missing is
    the whole span. `rejected` counts dropped values by reason.
    """

    format: str
    station: str | None
    latitude: float | None
    first: date
    last: date
    days: int
    missing: int
    rejected: dict[str, int]
    duplicates: int
    flat_runs: tuple[FlatRun, ...]
    native_unit: str
    precision: float

    @property
    def rejected_values(self) -> int:
        """Number of values dropped, whatever the reason."""
        return sum(self.rejected.values())


@dataclass(frozen=True, slots=True)
class ClimateSummary:
    """Zone, freeze dates and warm nights of one record.

    `freeze` is keyed by threshold and `warm_nights` by limit, in degrees F. `curve_c` is the
    smoothed mean Tmin of the 365 days of the year in degrees C, None where unknown, and
    `curve_max_c` that of Tmax; None as a whole when the record has no maxima, or was summarised
    before they were kept. `notes` are sentences for the reader: what was dropped, inferred or is
    too short.
    """

    record: RecordSummary
    zone: ZoneEstimate
    freeze: dict[int, FreezeDates]
    warm_nights: dict[int, WarmNights]
    curve_c: tuple[float | None, ...]
    hemisphere: Hemisphere
    notes: tuple[str, ...]
    curve_max_c: tuple[float | None, ...] | None = None

    def as_report(self) -> dict[str, Any]:
        """The climate as JSON-able values: zone, 10/50/90 % dates as `MM-DD`, warm nights."""
        zone = self.zone
        return {
            "record": {
                "format": self.record.format,
                "station": self.record.station,
                "first": self.record.first.isoformat(),
                "last": self.record.last.isoformat(),
                "days": self.record.days,
                "missing": self.record.missing,
                "rejected": self.record.rejected_values,
                "flat_runs": [_run_dict(run) for run in self.record.flat_runs],
                "native_unit": self.record.native_unit,
            },
            "zone": {
                "half_zone": zone.half_zone,
                "mean_extreme_min_f": _rounded(zone.mean_extreme_min_f, 3),
                "mean_extreme_min_c": _rounded(zone.mean_extreme_min_c, 3),
                "years": zone.years,
                "window": zone.window,
                "standard_error_f": _rounded(zone.standard_error_f, 3),
                "status": zone.status,
                "near_edge": zone.near_edge,
            },
            "freeze": {str(t): _freeze_report(dates) for t, dates in self.freeze.items()},
            "warm_nights": {
                str(limit): {"start": w.start, "end": w.end, "risk10": w.risk10}
                for limit, w in self.warm_nights.items()
            },
        }

    def as_stored(self) -> dict[str, Any]:
        """Everything, JSON-able; `from_stored` gives an equal summary back."""
        stored = asdict(self)
        stored["record"]["first"] = self.record.first.isoformat()
        stored["record"]["last"] = self.record.last.isoformat()
        stored["record"]["flat_runs"] = [_run_dict(run) for run in self.record.flat_runs]
        stored["zone"]["annual_minima_f"] = [list(pair) for pair in self.zone.annual_minima_f]
        stored["freeze"] = [_freeze_stored(dates) for dates in self.freeze.values()]
        stored["warm_nights"] = [asdict(nights) for nights in self.warm_nights.values()]
        stored["curve_c"] = list(self.curve_c)
        stored["notes"] = list(self.notes)
        if self.curve_max_c is not None:
            stored["curve_max_c"] = list(self.curve_max_c)
        return stored

    @classmethod
    def from_stored(cls, stored: Mapping[str, Any]) -> "ClimateSummary":
        """The summary that `as_stored` wrote; KeyError or TypeError when it is something else."""
        record = dict(stored["record"])
        record["first"] = date.fromisoformat(record["first"])
        record["last"] = date.fromisoformat(record["last"])
        record["flat_runs"] = tuple(
            FlatRun(date.fromisoformat(r["start"]), date.fromisoformat(r["end"]), r["days"])
            for r in record["flat_runs"]
        )
        zone = dict(stored["zone"])
        zone["annual_minima_f"] = tuple((year, low) for year, low in zone["annual_minima_f"])
        nights = [WarmNights(**each) for each in stored["warm_nights"]]
        highs = stored.get("curve_max_c")
        return cls(
            record=RecordSummary(**record),
            zone=ZoneEstimate(**zone),
            freeze={each["threshold_f"]: _freeze_restored(each) for each in stored["freeze"]},
            warm_nights={each.limit_f: each for each in nights},
            curve_c=tuple(stored["curve_c"]),
            hemisphere=stored["hemisphere"],
            notes=tuple(stored["notes"]),
            curve_max_c=None if highs is None else tuple(highs),
        )


def _rounded(value: float | None, digits: int) -> float | None:
    return None if value is None else round(value, digits)


def _run_dict(run: FlatRun) -> dict[str, Any]:
    return {"start": run.start.isoformat(), "end": run.end.isoformat(), "days": run.days}


def _freeze_report(freeze: FreezeDates) -> dict[str, Any]:
    def side(half: FreezeSide) -> dict[str, Any]:
        dates = {f"p{p}": half.dates[p] for p in _REPORTED_DECILES}
        return {"share": _rounded(half.share, 4), **dates}

    return {
        "years": freeze.years,
        "spring": side(freeze.spring),
        "autumn": side(freeze.autumn),
        "season_days": {f"p{p}": _rounded(freeze.season_days[p], 1) for p in _REPORTED_DECILES},
    }


def _freeze_stored(freeze: FreezeDates) -> dict[str, Any]:
    def side(half: FreezeSide) -> dict[str, Any]:
        return {"share": half.share, "dates": {str(p): day for p, day in half.dates.items()}}

    return {
        "threshold_f": freeze.threshold_f,
        "years": freeze.years,
        "unknown_years": freeze.unknown_years,
        "spring": side(freeze.spring),
        "autumn": side(freeze.autumn),
        "season_days": {str(p): days for p, days in freeze.season_days.items()},
    }


def _freeze_restored(stored: Mapping[str, Any]) -> FreezeDates:
    def side(half: Mapping[str, Any]) -> FreezeSide:
        return FreezeSide(half["share"], {int(p): day for p, day in half["dates"].items()})

    return FreezeDates(
        threshold_f=stored["threshold_f"],
        years=stored["years"],
        unknown_years=stored["unknown_years"],
        spring=side(stored["spring"]),
        autumn=side(stored["autumn"]),
        season_days={int(p): days for p, days in stored["season_days"].items()},
    )

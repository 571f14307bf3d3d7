"""The few dates of a site that the rules hang on, from a record or as typed.

Days are kept as (month, day) and turned into dates of one growing year in ``seasons``.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from lifecycle.agronomy.day_of_year import month_day
from lifecycle.handbook import days, fact

MonthDay = tuple[int, int]


@dataclass(frozen=True, slots=True)
class SiteDates:
    """A site's anchors. None: the site does not have that day.

    ``warm_*``: nights average 55 F or more; ``mild_*``: 50 F or more; ``always_*``: all
    year. ``frosty``: more than one winter in ten brings a freeze. ``risk`` dates carry a
    risk of one in ten, ``middle`` dates one in two. Temperatures in C.
    """

    southern: bool
    year_starts_in: int
    half_zone: str
    extreme_min_c: float | None
    warm_from: MonthDay | None
    warm_until: MonthDay | None
    mild_from: MonthDay | None
    mild_until: MonthDay | None
    always_warm: bool
    always_mild: bool
    last_freeze_risk: MonthDay | None
    last_freeze_middle: MonthDay | None
    first_freeze_risk: MonthDay | None
    first_freeze_middle: MonthDay | None
    frosty: bool
    freeze_share: float
    hot_until: MonthDay | None

    @property
    def keeps_in_ground(self) -> bool:
        """Whether a pepper may spend the winter in the ground here (zone 9 and up)."""
        edge = fact("lift.in_ground_zone").si
        return self.extreme_min_c is not None and self.extreme_min_c >= edge


def from_report(
    report: Mapping[str, Any],
    curve_c: Sequence[float | None],
    *,
    southern: bool,
    year_starts_in: int,
) -> SiteDates:
    """Return the anchors of a computed climate.

    ``report`` is ``ClimateSummary.as_report()``; ``curve_c`` the smoothed mean night
    lows of the 365 days of the year.
    """
    zone, freeze = report["zone"], report["freeze"]["32"]
    warm, mild = report["warm_nights"]["55"], report["warm_nights"]["50"]
    share = max(freeze["spring"]["share"] or 0.0, freeze["autumn"]["share"] or 0.0)
    return SiteDates(
        southern=southern,
        year_starts_in=year_starts_in,
        half_zone=zone["half_zone"] or "",
        extreme_min_c=zone["mean_extreme_min_c"],
        warm_from=_day(warm["start"]),
        warm_until=_day(warm["end"]),
        mild_from=_day(mild["start"]),
        mild_until=_day(mild["end"]),
        always_warm=warm["start"] == "all year",
        always_mild=mild["start"] == "all year",
        last_freeze_risk=_day(freeze["spring"]["p10"]),
        last_freeze_middle=_day(freeze["spring"]["p50"]),
        first_freeze_risk=_day(freeze["autumn"]["p10"]),
        first_freeze_middle=_day(freeze["autumn"]["p50"]),
        frosty=share > fact("lift.freeze_risk").value,
        freeze_share=share,
        hot_until=_hot_until(curve_c),
    )


def typed(
    *,
    half_zone: str,
    last_freeze: str,
    first_freeze: str,
    warm_from: str,
    cool_from: str,
    southern: bool,
    year_starts_in: int,
) -> SiteDates | None:
    """Return the anchors of typed dates (MM-DD or ""), or None when they do not suffice.

    Wanted at the least: the last freeze or the start of warm nights, and the first freeze
    or the start of cool nights; or a zone of 10 or more, where nights are taken as mild
    all year. What is missing is set off from what is there.
    """
    zone_low = zone_edge_c(half_zone) if half_zone else None
    warm = _day(warm_from) or _shifted(_day(last_freeze), days("typed.warm_after_freeze"))
    cool = _day(cool_from) or _shifted(_day(first_freeze), -days("typed.cool_before_freeze"))
    freezing = zone_edge_c("10a")
    frost_free_zone = zone_low is not None and zone_low >= freezing - 0.05
    mild_all_year = frost_free_zone and (warm is None or cool is None)
    if not mild_all_year and (warm is None or cool is None):
        return None
    cold_zone = zone_low is not None and zone_low < freezing - 0.05
    frosty = bool(last_freeze or first_freeze) or cold_zone
    margin = days("typed.freeze_margin")
    return SiteDates(
        southern=southern,
        year_starts_in=year_starts_in,
        half_zone=half_zone,
        extreme_min_c=zone_low,
        warm_from=warm,
        warm_until=_shifted(cool, -days("typed.mild_before_warm")),
        mild_from=_shifted(warm, -days("typed.mild_before_warm")),
        mild_until=cool,
        always_warm=mild_all_year,
        always_mild=mild_all_year,
        last_freeze_risk=_shifted(_day(last_freeze), margin),
        last_freeze_middle=_day(last_freeze),
        first_freeze_risk=_shifted(_day(first_freeze), -margin),
        first_freeze_middle=_day(first_freeze),
        frosty=frosty,
        freeze_share=1.0 if frosty else 0.0,
        hot_until=None,
    )


def zone_edge_c(half_zone: str) -> float:
    """Return the lower edge in C of a half-zone such as "7b" (USDA: 5 F steps from -60 F)."""
    steps = (int(half_zone[:-1]) - 1) * 2 + (half_zone[-1] == "b")
    return (-60 + 5 * steps - 32) / 1.8


def _day(text: str | None) -> MonthDay | None:
    if not text or text in ("never", "all year"):
        return None
    return int(text[:2]), int(text[3:])


def _shifted(day: MonthDay | None, by: int) -> MonthDay | None:
    if day is None:
        return None
    moved = date(2001, day[0], min(day[1], 28) if day[0] == 2 else day[1]) + timedelta(by)
    return moved.month, moved.day


def _hot_until(curve_c: Sequence[float | None]) -> MonthDay | None:
    """Return the last day of the stretch around the warmest night that is too hot to set fruit."""
    known = [(value, index) for index, value in enumerate(curve_c) if value is not None]
    limit = fact("warm_site.too_hot_night").si
    if not known or max(known)[0] <= limit:
        return None
    index = max(known)[1]
    for _ in range(len(curve_c)):
        value = curve_c[(index + 1) % len(curve_c)]
        if value is None or value <= limit:
            break
        index = (index + 1) % len(curve_c)
    month, day = month_day(index + 1).split("-")
    return int(month), int(day)

"""The few dates of a site that the rules hang on, from a record or as typed.

Days are kept as (month, day) and turned into dates of one growing year in ``seasons``.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import lru_cache
from typing import Any

from lifecycle.agronomy.daily_record import celsius
from lifecycle.agronomy.day_of_year import month_day
from lifecycle.agronomy.hardiness import half_zone_edges_f
from lifecycle.care.policy import DEFAULTS, Policy
from lifecycle.care.readiness import SLACK_C
from lifecycle.handbook import Crop, days, fact

MonthDay = tuple[int, int]
NAMES = {"pepper": "peppers", "tomato": "tomatoes", "eggplant": "eggplants"}
"""The crops that are set out by their nights, as a sentence names them."""


@dataclass(frozen=True, slots=True)
class CropNights:
    """How warm nights must be, in C, for a crop to go out, and by whose word."""

    group: str
    ready_c: float
    allowed_c: float
    ready_source: str
    allowed_source: str


@dataclass(frozen=True, slots=True)
class Stretch:
    """The days from which nights average ``limit_c`` or more; ``always``: all year."""

    start: MonthDay | None
    always: bool
    limit_c: float


def _pepper_nights() -> CropNights:
    ready, allowed = fact("plant_out.ready_night"), fact("plant_out.allowed_night")
    return CropNights("pepper", ready.si, allowed.si, ready.source, allowed.source)


PEPPER_NIGHTS = _pepper_nights()


@dataclass(frozen=True, slots=True)
class SiteDates:
    """A site's anchors. None: the site does not have that day.

    ``mild_*``: nights average 50 F or more; ``warm_*``: 55 F; ``balmy_*``: 60 F;
    ``always_*``: all year. ``frosty``: more than one winter in ten brings a freeze. ``risk``
    dates carry a risk of one in ten, ``middle`` dates one in two. Temperatures in C.
    ``crop_nights`` are those of the crop the dates are read for: peppers until ``for_crop``.
    ``*_hard_freeze``: 28 F, with a risk of one in ten; ``light_for_hard``: nobody knows them, so
    those of 32 F stand for them.
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
    policy: Policy = DEFAULTS
    balmy_from: MonthDay | None = None
    always_balmy: bool = False
    crop_nights: CropNights = PEPPER_NIGHTS
    first_hard_freeze: MonthDay | None = None
    last_hard_freeze: MonthDay | None = None
    light_for_hard: bool = False

    @property
    def planting_nights(self) -> CropNights:
        """The nights its crop goes out by; for peppers by the site's own choice of 50 or 55 F."""
        nights = self.crop_nights
        if nights.group != "pepper" or self.policy.of("plant_out_night") == "55":
            return nights
        return replace(nights, ready_c=nights.allowed_c, ready_source=nights.allowed_source)

    def stretch(self, night_c: float) -> Stretch:
        """Return when nights average ``night_c``; one between 50, 55 and 60 F takes the warmer."""
        if night_c <= celsius(50) + SLACK_C:
            return Stretch(self.mild_from, self.always_mild, celsius(50))
        if night_c <= celsius(55) + SLACK_C:
            return Stretch(self.warm_from, self.always_warm, celsius(55))
        return Stretch(self.balmy_from, self.always_balmy, celsius(60))

    @property
    def keeps_in_ground(self) -> bool:
        """Whether a pepper may spend the winter in the ground here (zone 9 and up)."""
        edge = fact("lift.in_ground_zone").si
        return self.extreme_min_c is not None and self.extreme_min_c >= edge


def for_crop(dates: SiteDates, crop: Crop) -> SiteDates:
    """Return the dates as ``crop`` reads them: planting out by its own nights.

    Crops that are not set out by their nights leave the dates as they are.
    """
    if crop.group not in NAMES:
        return dates
    ready = crop.fact("ready_night")
    allowed = crop.find("allowed_night") or ready
    nights = CropNights(crop.group, ready.si, allowed.si, ready.source, allowed.source)
    return _read_by(dates, nights)


@lru_cache(maxsize=1024)
def _read_by(dates: SiteDates, nights: CropNights) -> SiteDates:
    return replace(dates, crop_nights=nights)


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
    zone, freeze, hard = report["zone"], report["freeze"]["32"], report["freeze"]["28"]
    mild, warm, balmy = (report["warm_nights"][limit] for limit in ("50", "55", "60"))
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
        balmy_from=_day(balmy["start"]),
        always_balmy=balmy["start"] == "all year",
        first_hard_freeze=_day(hard["autumn"]["p10"]),
        last_hard_freeze=_day(hard["spring"]["p10"]),
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
    balmy_after = days("typed_nights.balmy_after_warm")
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
        balmy_from=_shifted(warm, balmy_after),
        always_balmy=mild_all_year,
        first_hard_freeze=_shifted(_day(first_freeze), -margin),
        last_hard_freeze=_shifted(_day(last_freeze), margin),
        light_for_hard=True,
    )


def zone_edge_c(half_zone: str) -> float:
    """Return the lower edge in C of a half-zone such as "7b"; ValueError for another name."""
    return celsius(half_zone_edges_f(half_zone)[0])


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

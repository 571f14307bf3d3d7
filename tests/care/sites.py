"""Sites to plan for: four real records, and invented ones at the edges."""

from dataclasses import replace
from functools import cache

from lifecycle.agronomy.record_reader import read_daily_record
from lifecycle.agronomy.site_climate import summarise
from lifecycle.care.site_dates import MonthDay, SiteDates, from_report, typed
from tests.external.installed_records import aquacrop_csv

LATITUDES = {"champion": 40.4, "brussels": 50.8, "cordoba": -31.3, "tunis": 36.8}


@cache
def site(name: str) -> SiteDates:
    """Champion (zone 5a), Brussels (8b), Cordoba (9b, south), Tunis (10a), and invented ones."""
    if name in INVENTED:
        return INVENTED[name]
    latitude = LATITUDES[name]
    record = read_daily_record(aquacrop_csv(name), units="C", latitude=latitude)
    climate = summarise(record, latitude=latitude)
    return from_report(
        climate.as_report(),
        climate.curve_c,
        southern=latitude < 0,
        year_starts_in=7 if latitude < 0 else 1,
    )


def typed_site(
    *,
    half_zone: str = "5b",
    last_freeze: str = "04-20",
    first_freeze: str = "10-14",
    warm_from: str = "05-25",
    cool_from: str = "09-30",
    southern: bool = False,
    year_starts_in: int = 1,
) -> SiteDates:
    """Central Illinois, as a gardener there would type it."""
    dates = typed(
        half_zone=half_zone,
        last_freeze=last_freeze,
        first_freeze=first_freeze,
        warm_from=warm_from,
        cool_from=cool_from,
        southern=southern,
        year_starts_in=year_starts_in,
    )
    assert dates is not None
    return dates


def half_a_year_on(day: MonthDay | None) -> MonthDay | None:
    return None if day is None else ((day[0] + 5) % 12 + 1, min(day[1], 28))


def mirrored(dates: SiteDates) -> SiteDates:
    """The same climate on the other side of the equator."""
    moved = {
        name: half_a_year_on(getattr(dates, name))
        for name in SiteDates.__slots__
        if isinstance(getattr(dates, name), tuple)
    }
    month = (dates.year_starts_in + 5) % 12 + 1
    return replace(dates, southern=not dates.southern, year_starts_in=month, **moved)


_NONE = dict.fromkeys(
    (
        *("warm_from", "warm_until", "mild_from", "mild_until"),
        *("last_freeze_risk", "last_freeze_middle", "first_freeze_risk", "first_freeze_middle"),
    )
)
_FROST_FREE = SiteDates(
    southern=False, year_starts_in=1, half_zone="12a", extreme_min_c=12.0,
    always_warm=True, always_mild=True, frosty=False, freeze_share=0.0, hot_until=(5, 20), **_NONE,
)  # fmt: skip
INVENTED = {
    "all year warm": _FROST_FREE,
    "all year mild": replace(
        _FROST_FREE, always_warm=False, warm_from=(3, 10), warm_until=(12, 1), hot_until=None
    ),
    "never warm": replace(
        typed_site(), warm_from=None, warm_until=None, mild_from=(6, 20), mild_until=(8, 10)
    ),
    "never mild": replace(
        typed_site(), warm_from=None, warm_until=None, mild_from=None, mild_until=None
    ),
    "typed": typed_site(),
}
REAL = tuple(LATITUDES)

"""The anchors of a site, computed or typed."""

from datetime import date

import pytest

from lifecycle.care.seasons import date_before, date_on_or_after
from lifecycle.care.site_dates import SiteDates, typed, zone_edge_c
from tests.care.sites import REAL, site, typed_site

NOTHING = {
    "half_zone": "", "last_freeze": "", "first_freeze": "", "warm_from": "", "cool_from": "",
    "southern": False, "year_starts_in": 1,
}  # fmt: skip


@pytest.mark.parametrize(
    ("half_zone", "degrees_f"), [("1a", -60), ("5b", -15), ("8b", 15), ("9a", 20), ("13b", 65)]
)
def test_the_edge_of_a_half_zone(half_zone: str, degrees_f: int) -> None:
    # USDA Plant Hardiness Zone Map: steps of 5 F from -60 F.
    assert zone_edge_c(half_zone) == pytest.approx((degrees_f - 32) / 1.8)


@pytest.mark.parametrize(
    ("name", "kept"),
    [("champion", False), ("brussels", False), ("cordoba", True), ("tunis", True)],
)
def test_from_zone_nine_on_a_pepper_may_stay_in_the_ground(name: str, kept: bool) -> None:
    assert site(name).keeps_in_ground is kept
    assert site(name).frosty


def test_what_was_not_typed_is_set_off_from_what_was() -> None:
    dates = typed(**NOTHING | {"last_freeze": "04-20", "first_freeze": "10-14"})
    assert dates is not None
    assert (dates.warm_from, dates.mild_from) == ((5, 11), (4, 27))
    assert (dates.mild_until, dates.warm_until) == ((9, 30), (9, 16))
    assert (dates.last_freeze_risk, dates.first_freeze_risk) == ((5, 6), (9, 28))
    assert dates.frosty


@pytest.mark.parametrize(
    "given",
    [{}, {"last_freeze": "04-20"}, {"first_freeze": "10-14"}, {"half_zone": "9b"}],
)
def test_too_little_gives_no_dates(given: dict[str, str]) -> None:
    assert typed(**NOTHING | given) is None


@pytest.mark.parametrize("half_zone", ["10a", "13b"])
def test_a_zone_alone_suffices_where_no_frost_comes(half_zone: str) -> None:
    dates = typed(**NOTHING | {"half_zone": half_zone})
    assert dates is not None
    assert (dates.always_warm, dates.frosty, dates.keeps_in_ground) == (True, False, True)


def test_a_typed_leap_day_is_a_day_of_every_year() -> None:
    dates = typed_site(last_freeze="02-29")
    assert isinstance(dates, SiteDates)
    assert date_on_or_after((2, 29), date(2026, 1, 1)) == date(2026, 2, 28)
    assert date_on_or_after((2, 29), date(2026, 3, 1)) == date(2027, 2, 28)
    assert date_on_or_after((2, 29), date(2028, 1, 1)) == date(2028, 2, 29)
    assert date_before((2, 29), date(2026, 2, 28)) == date(2025, 2, 28)


@pytest.mark.parametrize("name", REAL)
def test_a_real_record_gives_every_anchor_the_rules_need(name: str) -> None:
    dates = site(name)
    assert None not in (dates.warm_from, dates.mild_from, dates.mild_until, dates.extreme_min_c)

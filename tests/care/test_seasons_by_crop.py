"""Planting out by crop and by the site's choice of nights: windows, reasons and their order."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lifecycle.agronomy.record_reader import read_daily_record
from lifecycle.agronomy.site_climate import summarise
from lifecycle.care.policy import DEFAULTS, Policy, policy_of
from lifecycle.care.seasons import Season, hardening, season, waking
from lifecycle.care.site_dates import (
    NAMES,
    PEPPER_NIGHTS,
    CropNights,
    MonthDay,
    SiteDates,
    for_crop,
    from_report,
)
from lifecycle.handbook import CROPS, Crop
from tests.care.sites import INVENTED, REAL, mirrored, site, typed_site
from tests.care.test_plan_properties import climates
from tests.external.installed_records import aquacrop_csv

FIFTY = policy_of({"plant_out_night": "50"})
PEPPER, EGGPLANT = CROPS["annuum"], CROPS["eggplant"]
TOMATO = CROPS["tomato_indeterminate"]


def f(degrees: float) -> float:
    return (degrees - 32) / 1.8


def window(dates: SiteDates, crop: Crop = PEPPER, year: int = 2026) -> tuple[str, str, str]:
    found = season(for_crop(dates, crop), year).plant_out
    return (f"{found.earliest:%m-%d}", f"{found.best:%m-%d}", f"{found.latest:%m-%d}")


def at_fifty(dates: SiteDates) -> SiteDates:
    return replace(dates, policy=FIFTY)


# Typed: nights of 55 F from 25 May, so 50 F from 11 May and 60 F from 15 June.


def test_a_typed_site_has_a_start_of_nights_of_60() -> None:
    dates = typed_site()
    assert (dates.balmy_from, dates.always_balmy) == ((6, 15), False)
    assert typed_site(warm_from="12-20", southern=True).balmy_from == (1, 10)


def test_peppers_by_the_sites_choice() -> None:
    assert window(typed_site()) == ("05-11", "05-25", "06-15")
    assert window(at_fifty(typed_site())) == ("05-11", "05-11", "06-01")


def test_tomatoes_go_by_50_whatever_the_site_chose_for_peppers() -> None:
    assert window(typed_site(), TOMATO) == ("05-11", "05-11", "06-01")
    assert window(at_fifty(typed_site()), TOMATO) == ("05-11", "05-11", "06-01")


def test_eggplants_wait_for_nights_of_60() -> None:
    assert window(typed_site(), EGGPLANT)[1:] == ("06-15", "07-06")
    assert window(at_fifty(typed_site()), EGGPLANT)[1:] == ("06-15", "07-06")


def test_every_pepper_goes_by_the_nights_of_peppers() -> None:
    peppers = [crop for crop in CROPS.values() if crop.group == "pepper"]
    assert len(peppers) == 5
    for crop in peppers:
        assert for_crop(typed_site(), crop) == typed_site()


@pytest.mark.parametrize("key", ["pea", "bean", "lettuce", "garlic", "squash", "corn"])
def test_partners_leave_the_dates_as_they_are(key: str) -> None:
    dates = for_crop(typed_site(), EGGPLANT)
    assert for_crop(dates, CROPS[key]) is dates


def test_a_crop_is_read_the_same_from_whatever_was_read_before() -> None:
    dates = typed_site()
    assert for_crop(for_crop(dates, EGGPLANT), TOMATO) == for_crop(dates, TOMATO)
    assert for_crop(dates, TOMATO) is for_crop(dates, TOMATO)
    assert hash(for_crop(dates, TOMATO)) == hash(for_crop(dates, TOMATO))


@pytest.mark.parametrize(
    ("name", "crop", "best"),
    [
        ("champion", PEPPER, "06-18"),
        ("champion", TOMATO, "06-01"),
        ("brussels", PEPPER, "06-30"),
        ("brussels", TOMATO, "05-27"),
        ("tunis", PEPPER, "05-06"),
        ("tunis", TOMATO, "04-04"),
        ("tunis", EGGPLANT, "05-26"),
        ("cordoba", PEPPER, "11-12"),
        ("cordoba", TOMATO, "10-13"),
        ("cordoba", EGGPLANT, "12-17"),
    ],
)
def test_real_records(name: str, crop: Crop, best: str) -> None:
    assert window(site(name), crop)[1] == best


@pytest.mark.parametrize(
    ("name", "best"),
    [("champion", "06-01"), ("brussels", "05-27"), ("tunis", "04-04"), ("cordoba", "10-13")],
)
def test_at_fifty_the_best_day_is_the_start_of_such_nights(name: str, best: str) -> None:
    assert window(at_fifty(site(name)))[:2] == (best, best)


def test_reasons_name_the_crops_own_numbers() -> None:
    dates = typed_site()
    reasons = {
        name: season(for_crop(each, crop), 2026).plant_out_reason
        for name, each, crop in (
            ("55", dates, PEPPER),
            ("50", at_fifty(dates), PEPPER),
            ("tomato", dates, TOMATO),
        )
    }
    assert reasons == {
        "55": "Night lows here average {12.78 C} from {2026-05-25} and {10.00 C} from "
        "{2026-05-11}. Peppers are chilled below {10.00 C}.",
        "50": "Night lows here average {10.00 C} from {2026-05-11}. Peppers are chilled below "
        "{10.00 C}.",
        "tomato": "Night lows here average {10.00 C} from {2026-05-11}.",
    }
    eggplant = season(for_crop(dates, EGGPLANT), 2026).plant_out_reason
    assert eggplant.startswith("Night lows here average {15.56 C} from {2026-06-15}")
    assert "Peppers" not in eggplant


def test_sources_are_those_of_the_night_that_was_chosen() -> None:
    assert season(typed_site(), 2026).plant_out_source == "illinois"
    assert season(at_fifty(typed_site()), 2026).plant_out_source == "umn"
    assert at_fifty(typed_site()).planting_nights == CropNights(
        "pepper", f(50), f(50), "umn", "umn"
    )
    assert typed_site().planting_nights is PEPPER_NIGHTS


def test_planting_out_waits_for_the_last_freeze_of_one_year_in_ten() -> None:
    # 10 May in the middle, one year in ten on 26 May; nights of 50 F from 11 May.
    late = typed_site(last_freeze="05-10")
    assert window(late) == ("05-11", "05-26", "06-16")
    assert window(late, TOMATO) == ("05-11", "05-26", "06-16")
    reason = season(late, 2026).plant_out_reason
    assert reason.endswith(" One year in ten still freezes until {2026-05-26}.")
    on_the_day = replace(typed_site(), last_freeze_risk=(5, 25))
    assert "freezes" not in season(on_the_day, 2026).plant_out_reason
    assert window(on_the_day)[1] == "05-25"


@pytest.mark.parametrize(
    ("night_f", "start"),
    [(41, "mild"), (50, "mild"), (50.08, "mild"), (50.1, "warm"), (55, "warm"), (55.08, "warm"),
     (55.1, "balmy"), (60, "balmy"), (64, "balmy")],
)  # fmt: skip
def test_a_night_between_two_limits_takes_the_warmer(night_f: float, start: str) -> None:
    dates = typed_site()
    assert dates.stretch(f(night_f)).start == getattr(dates, f"{start}_from")
    assert dates.stretch(f(night_f)).always is False


def test_a_site_mild_all_year_still_plants_in_spring() -> None:
    dates = site("all year mild")  # nights of 55 F from 10 March
    assert window(dates) == ("02-24", "03-10", "03-31")
    assert window(at_fifty(dates)) == ("02-24", "03-10", "03-31")
    assert window(dates, TOMATO) == ("02-24", "03-10", "03-31")
    assert season(dates, 2026).plant_out_reason == (
        "Night lows here average {12.78 C} from {2026-03-10} and {10.00 C} all year. "
        "Peppers are chilled below {10.00 C}."
    )
    assert season(at_fifty(dates), 2026).plant_out_reason == (
        "Night lows here average {10.00 C} all year. Peppers are chilled below {10.00 C}."
    )


def test_a_site_mild_all_year_and_never_warm() -> None:
    dates = replace(site("all year mild"), warm_from=None, warm_until=None)
    assert window(dates) == ("05-01", "05-15", "06-05")
    assert window(at_fifty(dates)) == ("05-01", "05-15", "06-05")
    south = mirrored(dates)
    assert window(south) == ("10-29", "11-12", "12-03")


def test_a_site_warm_all_year() -> None:
    dates = site("all year warm")  # too hot to set fruit until 20 May
    assert window(dates) == window(at_fifty(dates)) == ("04-20", "05-20", "08-18")
    assert window(dates, TOMATO) == ("04-20", "05-20", "08-18")
    assert "{10.00 C} all year" in season(at_fifty(dates), 2026).plant_out_reason
    assert "{12.78 C} all year" in season(dates, 2026).plant_out_reason
    cooler = replace(dates, hot_until=None)
    assert window(cooler) == ("08-02", "09-01", "11-30")
    assert window(replace(cooler, southern=True)) == ("01-30", "03-01", "05-30")
    balmy = replace(dates, balmy_from=(4, 2))
    assert window(balmy, EGGPLANT)[1] == "04-02"
    assert window(replace(dates, always_balmy=True), EGGPLANT) == ("04-20", "05-20", "08-18")


def test_a_site_never_warm_enough_plants_with_a_cover() -> None:
    dates = site("never warm")  # nights of 50 F from 20 June
    assert window(dates) == ("06-20", "07-04", "07-25")
    assert season(dates, 2026).plant_out_reason == (
        "Night lows here never average {12.78 C}. They average {10.00 C} from {2026-06-20}: "
        "plant out with a cover at hand."
    )
    assert season(dates, 2026).plant_out_source == "umn"
    assert window(at_fifty(dates))[:2] == ("06-20", "06-20")


@pytest.mark.parametrize(
    ("crop", "words"), [(PEPPER, "peppers"), (TOMATO, "tomatoes"), (EGGPLANT, "eggplants")]
)
def test_a_site_never_mild_grows_under_cover(crop: Crop, words: str) -> None:
    dates = replace(site("never mild"), balmy_from=None)
    assert window(dates, crop) == ("06-17", "07-01", "07-22")
    assert f"grow {words} under cover" in season(for_crop(dates, crop), 2026).plant_out_reason
    assert window(mirrored(dates), crop) == ("12-18", "01-01", "01-22")


def test_lifting_goes_by_50_for_every_crop() -> None:
    lifts = {season(for_crop(typed_site(), crop), 2026).lift for crop in CROPS.values()}
    assert len(lifts) == 1


def test_a_garden_that_overrides_a_night_moves_the_window() -> None:
    careful = PEPPER.adapted({"ready_night": f(60)})
    assert window(typed_site(), careful)[1] == "06-15"


crops = st.sampled_from([crop for crop in CROPS.values() if crop.group in NAMES])
policies = st.sampled_from([DEFAULTS, FIFTY])


def in_order(found: Season) -> bool:
    windows = [found.plant_out, waking(found.plant_out), hardening(found.plant_out), found.autumn]
    return all(each.earliest <= each.best <= each.latest for each in windows)


@given(climates, crops, policies, st.integers(2020, 2032), st.none() | st.just((7, 3)))
@settings(max_examples=200)
def test_windows_are_in_order_anywhere(
    dates: SiteDates, crop: Crop, policy: Policy, year: int, balmy: MonthDay | None
) -> None:
    read = for_crop(replace(dates, policy=policy, balmy_from=balmy), crop)
    found, following = season(read, year), season(read, year + 1)
    assert in_order(found)
    assert found.plant_out.latest - found.plant_out.best >= timedelta(21)
    assert timedelta(360) <= following.plant_out.best - found.plant_out.best <= timedelta(372)
    assert date(year, 1, 1) - timedelta(30) <= found.plant_out.best < date(year + 2, 5, 1)


@given(st.sampled_from([*REAL, *INVENTED]).map(site), st.integers(2020, 2032))
def test_peppers_never_go_out_later_for_choosing_50(dates: SiteDates, year: int) -> None:
    assert season(at_fifty(dates), year).plant_out.best <= season(dates, year).plant_out.best


# Where nights are too hot to set fruit: above 75 F, 23.89 C.


def hot_until(*stretches: tuple[int, int, float], rest: float | None = 20.0) -> MonthDay | None:
    """The end of hot nights of a curve at ``rest`` but for some days of the year."""
    curve: list[float | None] = [rest] * 365
    for first, last, low in stretches:
        curve[first - 1 : last] = [low] * (last - first + 1)
    record = read_daily_record(aquacrop_csv("tunis"), units="C", latitude=36.8)
    report = summarise(record).as_report()
    return from_report(report, curve, southern=False, year_starts_in=1).hot_until


def test_hot_nights_end_with_the_last_above_75() -> None:
    assert hot_until((182, 212, 24.0)) == (7, 31)
    assert hot_until((182, 212, 24.0), (200, 200, 26.0)) == (7, 31)
    assert hot_until((182, 212, f(75))) is None
    assert hot_until((200, 200, 24.0)) == (7, 19)
    assert hot_until((340, 365, 24.0), (1, 31, 25.0)) == (1, 31)
    assert hot_until((182, 200, 25.0), (201, 201, f(75)), (202, 212, 24.0)) == (7, 19)


def test_what_is_not_known_of_a_curve_ends_the_stretch() -> None:
    assert hot_until(rest=None) is None
    assert hot_until((182, 212, 24.0), rest=None) == (7, 31)
    assert hot_until(rest=24.0) is not None


def test_a_varietys_own_nights_are_told_by_the_nights_that_were_looked_at() -> None:
    """Between 50, 55 and 60 F the warmer one's day is taken, and the sentence says so."""
    own = PEPPER.adapted({"ready_night": 13.5})
    found = season(for_crop(typed_site(), own), 2026)
    assert found.plant_out.best == date(2026, 6, 15)
    assert found.plant_out_reason.startswith("Night lows here average {15.56 C} from {2026-06-15}")

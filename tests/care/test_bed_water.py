"""A bed's water: from which day it counts, what it uses, when it is due, and what is said of it."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lifecycle.agronomy.evapotranspiration import depletion_fraction, hargreaves
from lifecycle.agronomy.sun import extraterrestrial_radiation
from lifecycle.care.bed import Bed, Standing, growing_since
from lifecycle.care.bed_water import BedWater, bed_water
from lifecycle.care.bed_weather import Reading, SiteAir
from lifecycle.handbook import SOILS, fact
from lifecycle.life.kinds import Kind
from tests.care.beds import DAY, a_crop, standing

BED = Bed(length_m=4, width_m=1.5, depth_cm=30, soil="loam")
AIR = SiteAir(45.0, (10.0,) * 365, (25.0,) * 365)
NOWHERE = SiteAir(45.0)
FULL = [(DAY - timedelta(3), None)]


def et0(day: date, low: float = 10.0, high: float = 25.0) -> float:
    return float(hargreaves(low, high, extraterrestrial_radiation(45.0, day.timetuple().tm_yday)))


def water(
    bed: Bed = BED,
    plants: list[Standing] | None = None,
    waterings: list[tuple[date, float | None]] = FULL,
    readings: dict[date, Reading] | None = None,
    air: SiteAir = AIR,
    today: date = DAY,
) -> BedWater:
    found = bed_water(bed, plants or [standing()], waterings, readings or {}, air, today)
    assert found is not None
    return found


def test_a_bed_without_plants_has_no_water_to_speak_of() -> None:
    assert bed_water(BED, [], FULL, {}, AIR, DAY) is None


def test_it_lacks_what_the_days_since_the_last_full_watering_used() -> None:
    used = et0(DAY - timedelta(2)) + et0(DAY - timedelta(1))
    assert water().missing == pytest.approx(used)


def test_it_holds_what_its_soil_holds_in_reach_of_the_roots() -> None:
    loam = SOILS["loam"]
    found = water()
    assert found.holds == pytest.approx((loam.fc - loam.wp) * 500)
    share = float(depletion_fraction(0.3, et0(DAY)))
    assert found.easy == pytest.approx(share * found.holds)


def test_wire_ends_the_roots_and_no_wire_lets_them_go_on_below_the_bed() -> None:
    deep = water().holds
    shallow = water(replace(BED, wire=True))
    assert shallow.holds == pytest.approx(deep * 300 / 500)
    assert water(replace(BED, depth_cm=None)).holds == pytest.approx(deep)
    assert water(replace(BED, depth_cm=90)).holds == pytest.approx(deep)
    assert water(replace(BED, wire=True, depth_cm=90)).holds == pytest.approx(deep)
    assert "Roots end at the wire, {30.0 cm} deep." in shallow.assumed
    assert water().assumed[-1] == (
        "Roots are taken to reach {50.0 cm}. Just after planting they do not: feel the soil as "
        "well."
    )


def test_the_crop_uses_its_share_by_stage_and_rests_at_the_lowest() -> None:
    day = DAY - timedelta(1)
    waterings = [(DAY - timedelta(2), None)]

    def used(since: date, *, resting: bool = False) -> float:
        plant = Standing(a_crop(), since, resting=resting)
        return water(plants=[plant], waterings=waterings).missing / et0(day)

    assert used(day - timedelta(1)) == pytest.approx(0.5)
    assert used(day - timedelta(20)) == pytest.approx(0.75)
    assert used(day - timedelta(60)) == pytest.approx(1.0)
    assert used(day - timedelta(900)) == pytest.approx(0.8)
    assert used(day - timedelta(60), resting=True) == pytest.approx(0.5)


def test_several_crops_share_a_bed_by_their_number() -> None:
    mixed = [standing(count=3), Standing(a_crop(kc_mid=0.6, root_depth=10), date(2026, 5, 1))]
    found = water(plants=mixed, waterings=[(DAY - timedelta(2), None)])
    assert found.missing == pytest.approx(0.9 * et0(DAY - timedelta(1)))
    assert found.holds == pytest.approx(water().holds * 40 / 50)


def test_readings_go_before_the_means_and_half_a_reading_does_not() -> None:
    day = DAY - timedelta(1)
    waterings = [(DAY - timedelta(2), None)]
    hot = water(waterings=waterings, readings={day: Reading(20.0, 38.0, 0.0)})
    assert hot.missing == pytest.approx(et0(day, 20, 38))
    half = water(waterings=waterings, readings={day: Reading(None, 38.0)})
    assert half.missing == pytest.approx(et0(day))


def test_litres_since_the_full_watering_count_by_the_area() -> None:
    dry = water()
    given = water(waterings=[*FULL, (DAY - timedelta(1), 12.0), (DAY - timedelta(1), 6.0)])
    assert dry.missing - given.missing == pytest.approx(18 / 6)
    assert [day.given for day in given.days[:3]] == pytest.approx([0, 3, 0])


def test_litres_given_today_are_there_today() -> None:
    given = water(waterings=[*FULL, (DAY, 6.0)])
    assert water().missing - given.missing == pytest.approx(1)
    assert water(waterings=[*FULL, (DAY, 600.0)]).missing == 0


def test_without_litres_or_area_a_watering_fills_the_bed() -> None:
    again = [*FULL, (DAY - timedelta(1), None)]
    assert water(waterings=again).missing == 0
    assert water(waterings=again).assumed[0] == (
        "Taken as full on {2026-06-30}: watered, and how much is not on record."
    )
    sizeless = water(Bed(soil="loam"), waterings=[(DAY - timedelta(1), 12.0)])
    assert sizeless.missing == 0
    assert sizeless.assumed[0] == (
        "Taken as full on {2026-06-30}: watered, and while the bed's size is not known litres say "
        "nothing."
    )
    assert sizeless.litres is None


def test_watered_to_the_full_today_it_counts_from_tomorrow() -> None:
    found = water(waterings=[(DAY, None)])
    assert found.missing == 0
    assert found.days[0].day == DAY + timedelta(1)
    assert found.due is not None
    assert found.due > DAY


def test_no_watering_on_record_counts_from_planting_but_sixty_days_at_most() -> None:
    planted = DAY - timedelta(20)
    found = water(plants=[Standing(a_crop(), planted)], waterings=[])
    assert found.days[0].day == planted + timedelta(1)
    assert found.assumed[0] == (
        f"Taken as full on {{{planted}}}: no watering to the full is on record since."
    )
    old = water(waterings=[(DAY - timedelta(61), None)])
    assert old.days[0].day == DAY - timedelta(59)
    edge = water(waterings=[(DAY - timedelta(60), None)])
    assert "watered" in edge.assumed[0]


def test_a_watering_after_today_plays_no_part() -> None:
    assert water(waterings=[*FULL, (DAY + timedelta(1), None)]) == water()


def test_rain_counts_save_what_dries_where_it_fell_and_unread_days_are_dry() -> None:
    day = DAY - timedelta(1)
    wet = water(readings={day: Reading(rain_mm=2.0)})
    assert water().missing - wet.missing == pytest.approx(2.0)
    trace = water(readings={day: Reading(rain_mm=0.19 * et0(day))})
    assert trace.missing == water().missing
    assert water().assumed[1:4] == (
        "2 days of 2 without a rain reading count as dry.",
        "2 days without a low and a high follow the site's mean.",
        "The days ahead follow the site's mean and bring no rain.",
    )
    assert "1 day of 2 without a rain reading count as dry." in wet.assumed
    read = {DAY - timedelta(n): Reading(10.0, 25.0, 0.0) for n in range(4)}
    assert not any("without" in said for said in water(readings=read).assumed)


def test_a_day_whose_rain_nobody_read_is_dry_also_in_the_cool() -> None:
    day = DAY - timedelta(1)
    cool = SiteAir(45.0, (0.0,) * 365, (1.0,) * 365)
    assert water(air=cool, readings={day: Reading(0.0, 1.0)}).missing == pytest.approx(
        water(air=cool).missing
    )


def test_more_water_than_a_day_can_take_only_runs_through() -> None:
    flooded = water(waterings=[*FULL, (DAY - timedelta(1), 200.0)] * 20)
    assert max(day.given for day in flooded.days) == 500
    assert flooded.missing == 0


def test_the_first_planted_says_from_when_a_bed_counts() -> None:
    early, late = DAY - timedelta(20), DAY - timedelta(2)
    plants = [Standing(a_crop(), late), Standing(a_crop(), early)]
    assert water(plants=plants, waterings=[]).days[0].day == early + timedelta(1)


def test_a_bed_lacks_water_from_where_its_easy_water_ends() -> None:
    found = water()
    assert replace(found, missing=found.easy).late
    assert not replace(found, missing=found.easy - 0.001).late


def test_water_is_due_when_the_easy_water_is_gone_and_fills_the_bed() -> None:
    found = water()
    assert found.due is not None
    assert found.due > DAY
    last = next(day for day in found.days if day.day == found.due)
    assert last.missing == pytest.approx(found.mm)
    assert found.mm >= found.easy > found.missing
    assert found.litres == pytest.approx(found.mm * 6)
    assert not found.late


def test_a_bed_past_its_easy_water_wants_it_today() -> None:
    found = water(waterings=[(DAY - timedelta(30), None)])
    assert found.due == DAY
    assert found.mm == pytest.approx(found.missing)
    assert found.late


def test_a_bed_that_lasts_two_weeks_is_not_due() -> None:
    cool = SiteAir(45.0, (0.0,) * 365, (1.0,) * 365)
    found = water(waterings=[(DAY, None)], air=cool)
    assert (found.due, found.mm, found.litres) == (None, 0.0, None)
    assert found.days[-1].day == DAY + timedelta(13)


def test_where_highs_are_not_known_a_week_takes_its_usual_inch() -> None:
    weekly = fact("water.weekly").si
    found = water(air=NOWHERE, waterings=[(DAY - timedelta(8), None)])
    assert found.missing == pytest.approx(weekly)
    assert (
        f"Highs of the site are not known: about {{{weekly:.1f} mm}} a week is taken where nobody "
        "read the thermometer."
    ) in found.assumed
    lows_only = water(air=SiteAir(45.0, (10.0,) * 365, None))
    assert any("Highs of the site are not known" in said for said in lows_only.assumed)
    assert not any("Highs" in said for said in water().assumed)


def test_means_that_cross_or_are_missing_are_not_used() -> None:
    odd = SiteAir(45.0, (10.0,) * 365, (9.0,) * 365)
    assert water(air=odd).missing == water(air=NOWHERE).missing
    level = SiteAir(45.0, (10.0,) * 365, (10.0,) * 365)
    assert water(air=level).missing == 0


def test_the_means_of_the_day_are_used_and_29_february_is_the_28th() -> None:
    highs = [20.0] * 365
    highs[58] = 30.0
    air = SiteAir(-35.0, (10.0,) * 365, tuple(highs))
    leap = date(2028, 2, 29)
    plants = [Standing(a_crop(), leap - timedelta(60))]

    def used(today: date) -> float:
        return water(
            plants=plants, air=air, today=today, waterings=[(today - timedelta(2), None)]
        ).missing

    after = used(date(2028, 3, 1))
    assert after == pytest.approx(used(leap), rel=0.02)
    assert after > 1.3 * used(date(2028, 3, 2))
    highs[59] = 30.0
    march = SiteAir(-35.0, (10.0,) * 365, tuple(highs))
    found = water(
        plants=plants, air=march, today=date(2028, 3, 2), waterings=[(leap, None)]
    ).missing
    assert found > 1.3 * used(date(2028, 3, 2))


def test_mulch_saves_its_part() -> None:
    saved = fact("water.evaporation_share").si * fact("water.mulch_cut").si
    covered = water(replace(BED, mulched=True))
    assert covered.missing == pytest.approx(water().missing * (1 - saved))
    assert covered.assumed[-1] == f"The mulch saves {saved:.0%} of the water."
    assert not any("mulch" in said for said in water().assumed)


def test_an_unknown_soil_is_taken_as_loam_and_said() -> None:
    unknown = water(replace(BED, soil=""))
    assert unknown.holds == water().holds
    assert "The soil is not stated: taken as loam." in unknown.assumed
    assert not any("taken as loam" in said for said in water().assumed)


def test_days_run_without_a_gap_from_past_to_expected() -> None:
    found = water()
    assert [day.day for day in found.days] == [DAY + timedelta(n) for n in range(-2, 14)]
    assert [day.expected for day in found.days] == [False] * 2 + [True] * 14


@given(
    st.lists(st.tuples(st.integers(0, 70), st.none() | st.floats(0.01, 200)), max_size=8),
    st.dictionaries(
        st.integers(0, 70),
        st.builds(
            Reading,
            st.none() | st.floats(-20, 20),
            st.none() | st.floats(20, 45),
            st.none() | st.floats(0, 1000),
        ),
        max_size=8,
    ),
    st.booleans(),
    st.none() | st.floats(5, 200),
)
def test_whatever_is_on_record_the_bed_is_between_full_and_dry(
    waterings: list[tuple[int, float | None]],
    readings: dict[int, Reading],
    wire: bool,
    depth: float | None,
) -> None:
    found = bed_water(
        replace(BED, wire=wire, depth_cm=depth, length_m=0.1, width_m=0.1),
        [standing()],
        [(DAY - timedelta(ago), litres) for ago, litres in waterings],
        {DAY - timedelta(ago): reading for ago, reading in readings.items()},
        AIR,
        DAY,
    )
    assert found is not None
    assert 0 <= found.missing <= found.holds
    assert all(0 <= day.missing <= found.holds for day in found.days)
    assert found.due is None or found.due >= DAY


def test_a_plant_counts_from_planting_or_from_its_return_after_a_rest() -> None:
    out, rest, back = date(2025, 5, 20), date(2025, 11, 1), date(2026, 3, 20)
    began = date(2025, 3, 1)
    assert growing_since([], began) == began
    assert growing_since([(Kind.PLANTED_OUT, out)], began) == out
    grown = [(Kind.PLANTED_OUT, out), (Kind.FIRST_GROWTH, date(2025, 6, 1))]
    assert growing_since(grown, began) == out
    rested = [*grown, (Kind.GONE_TO_REST, rest)]
    assert growing_since(rested, began) == out
    assert growing_since([*rested, (Kind.FIRST_GROWTH, back)], began) == back
    assert growing_since([*rested, (Kind.WOKEN, back)], began) == back
    twice = [*rested, (Kind.WOKEN, back), (Kind.FIRST_GROWTH, date(2026, 4, 20))]
    assert growing_since(twice, began) == back

"""Practices of a seasoned grower from seed to late summer, reached through the plan.

Most are common practice, no source; each test says so, or names the published source at hand.
"""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from lifecycle.care.catalogue import STEP_RULES
from lifecycle.care.outlook import Ground, Nights, SiteEvent, Weather
from lifecycle.care.plan import plan
from lifecycle.care.policy import policy_of
from lifecycle.care.readiness import Readiness, readiness
from lifecycle.care.site_dates import SiteDates
from lifecycle.care.steps import Step
from lifecycle.care.wording import in_units
from lifecycle.handbook import CROPS, MATERIALS, SYMPTOMS
from lifecycle.life.fold import Fact
from lifecycle.life.kinds import Kind
from tests.care.sites import typed_site
from tests.life.facts import fact, life_of

RAISED, OUT = date(2026, 4, 10), date(2026, 5, 25)
SITE = typed_site()
TALL, BUSH = "tomato_indeterminate", "tomato_determinate"


def seedling(count: int = 1) -> list[Fact]:
    return [fact(Kind.RAISED, RAISED, inside=True, quantity=count)]


def summer(count: int = 1) -> list[Fact]:
    return [*seedling(count), fact(Kind.PLANTED_OUT, OUT, inside=False)]


def kept() -> list[Fact]:
    return [
        fact(Kind.RAISED, date(2025, 4, 10), inside=True, quantity=1),
        fact(Kind.PLANTED_OUT, date(2025, 5, 25), inside=False),
        fact(Kind.LIFTED, date(2025, 9, 27)),
        fact(Kind.WINTER_QUARTERS, date(2025, 9, 28), inside=True, choice="resting"),
        fact(Kind.WOKEN, date(2026, 4, 10)),
        fact(Kind.PLANTED_OUT, OUT, inside=False),
    ]


def steps(
    facts: list[Fact], today: date = OUT, crop: str = "annuum", dates: SiteDates = SITE, **more
) -> dict[str, Step]:
    """The next step of each kind."""
    subject = "sowing" if facts[0].kind in (Kind.PLANNED, Kind.SOWN) else "plant"
    found: dict[str, Step] = {}
    for step in plan(life_of(facts, subject), crop, dates, today, **more):
        found.setdefault(step.kind, step)
    return found


def chosen(**choices: str) -> SiteDates:
    return replace(SITE, policy=policy_of(choices))


def f(degrees: float) -> float:
    return (degrees - 32) / 1.8


# Nights


@pytest.mark.parametrize(
    ("low_f", "answer"),
    [
        (56, Readiness.READY), (55, Readiness.READY),
        (54, Readiness.ALLOWED), (50, Readiness.ALLOWED),
        (49, Readiness.HOLD),
    ],
)  # fmt: skip
def test_nights_of_55_before_peppers_go_out_50_to_55_a_warning_below_that_hold(
    low_f: int, answer: Readiness
) -> None:
    """55 F: N. Frillman, University of Illinois Extension 2022. 50 F: University of Minnesota."""
    nights = Nights(OUT, (f(low_f), *[f(60)] * 6))
    words = {
        Readiness.READY: "plant out.",
        Readiness.ALLOWED: "planting out is allowed, but keep a cover at hand.",
        Readiness.HOLD: "nights too cold to plant out.",
    }
    assert readiness(nights.lows_c).answer is answer
    step = steps(seedling(), nights=nights)["plant_out"]
    assert words[answer] in step.reason
    assert (step.window.best == OUT + timedelta(7)) is (answer is Readiness.HOLD)


def test_purple_veins_after_early_exposure_are_cold_shock_and_short_feed() -> None:
    """Common practice, no source."""
    first = SYMPTOMS["purple_veins"].causes[0]
    assert first.label == "Cold shock and short feed"
    assert first.remedy.startswith("Plant out and feed")
    seen = OUT + timedelta(3)
    noted = [*summer(), fact(Kind.SYMPTOM, seen, choice="purple_veins")]
    feed = steps(noted, seen)["first_feed"]
    assert feed.window.best == seen
    assert "feed now" in feed.reason
    waiting = [*seedling(), fact(Kind.SYMPTOM, date(2026, 5, 12), choice="purple_veins")]
    assert "plant out when nights allow, and feed." in (
        steps(waiting, date(2026, 5, 12))["plant_out"].reason
    )


def test_hardening_begins_in_shade_and_out_of_the_wind() -> None:
    """About two weeks: Hennepin County Master Gardeners 2014. Sun and wind: common practice."""
    step = steps(seedling(), RAISED)["harden"]
    assert OUT - step.window.best == timedelta(14)
    assert "an hour in shade, out of the wind: sun bleaches and wind tears leaves" in step.reason


# Depth


def test_tomatoes_are_set_deep_or_laid_on_their_side_in_a_bed_six_inches_deep_over_wire() -> None:
    """26 percent more at first pick: Vegetarian 94-10, University of Florida. Laying on the side:
    common practice, no source."""
    deep = steps(seedling(), RAISED, TALL)["plant_out"].reason
    assert "Set tomatoes deep, to the first true leaf, for 26 % more at first pick" in deep
    bed = Ground(depth_cm=15.24, wire=True)
    words = steps(seedling(), RAISED, TALL, ground=bed)["plant_out"].reason
    assert "This bed is only 6 in deep over wire: lay tomatoes on their side" in (
        in_units(words, "F", "in")
    )


def test_peppers_are_never_set_deeper_than_they_stood() -> None:
    """Common practice, no source; deeper lodged less in HortScience 35(4):593, hence a setting."""
    up = [
        fact(Kind.SOWN, date(2026, 3, 23), quantity=20),
        fact(Kind.EMERGED, date(2026, 4, 6), quantity=12),
    ]
    words = "Set peppers no deeper than they stood."
    assert words in steps(seedling(), RAISED)["plant_out"].reason
    assert words in steps(up, date(2026, 4, 6))["pot_up"].reason
    leaf = steps(seedling(), RAISED, dates=chosen(pepper_depth="to_leaf"))["plant_out"]
    assert "to the seed leaves" in leaf.reason


def test_two_peppers_raised_in_one_pot_stay_together_and_hold_each_other_up() -> None:
    """Common practice, no source."""
    together = "The two in one pot stay together and hold each other up."
    assert together in steps(seedling(2), RAISED)["plant_out"].reason
    assert together in steps(summer(2))["stake"].reason
    assert together not in steps(seedling(1), RAISED)["plant_out"].reason


# Support and shape


def test_determinate_tomatoes_three_feet_tall_and_apart_unpruned_caged_one_flush() -> None:
    """Caged, 36 in apart, not pruned: Trellising tomatoes, NC State University Extension. Three
    feet tall and one flush of four weeks: common practice, no source."""
    cage = steps(summer(), crop=BUSH)["cage"]
    assert in_units(cage.reason, "F", "in").startswith("About 36 in tall and 36 in apart: caged")
    assert "not pruned" in cage.reason
    assert not {"side_shoots", "pinch", "string"} & set(steps(summer(), crop=BUSH))
    assert CROPS[BUSH].fact("spacing").value == 36
    picked = [*summer(), fact(Kind.PICKED, date(2026, 7, 30))]
    clear = steps(picked, date(2026, 7, 30), BUSH)["clear"]
    assert clear.window.best == date(2026, 8, 27)
    assert "one flush" in clear.reason


def test_indeterminate_tomatoes_on_a_string_a_foot_apart() -> None:
    """12 to 15 in apart: NC State University Extension. Ten feet left alone, side shoots every
    three to four days, midday and lowering: common practice, no source."""
    found = steps(summer(), crop=TALL)
    assert in_units(found["string"].reason, "F", "in") == (
        "One stem on a string, 12 in to 15 in apart. Left alone, one plant can cover 120 in."
    )
    assert found["side_shoots"].reason.startswith("Every 3 to 4 days")
    done = fact(Kind.SIDE_SHOOTS, OUT + timedelta(14))
    again = steps([*summer(), done], OUT + timedelta(14), TALL)["side_shoots"].window
    assert (again.best - done.happened_on, again.latest - done.happened_on) == (
        timedelta(3),
        timedelta(4),
    )
    assert "at midday, when stems bend without breaking" in found["wind_on"].reason
    assert "hang it again instead of topping it" in found["lower"].reason
    assert "pinch" not in found
    assert "ladder" in STEP_RULES["lower"].cautions


def test_a_two_foot_stake_six_inches_in_the_ground_tied_at_a_foot() -> None:
    """Common practice, no source."""
    found = steps(summer())
    stake = in_units(found["stake"].reason, "F", "in")
    assert "a stake of 24 in, 6 in of it in the ground" in stake
    assert in_units(found["tie"].reason, "F", "in").startswith("At about 12 in tall")
    assert found["stake"].window.best == OUT


def test_a_woody_second_year_plant_wants_stouter_support() -> None:
    """Common practice, no source."""
    found = steps(kept())
    assert "stake" not in found
    assert "a stout stake or a trellis" in found["stake_stout"].reason


def test_topped_at_about_six_leaves_unless_the_season_is_short() -> None:
    """Leaf cover: J. Myrick, UC Davis Good Life Garden 2011. Yield often falls: California Wonder
    pruning 2022, hence a setting. Six leaves and 120 days: common practice, no source."""
    assert "At about 6 true leaves" in steps(seedling(), RAISED)["pinch"].reason
    short = typed_site(first_freeze="10-01", cool_from="09-10")
    assert "pinch" not in steps(seedling(), RAISED, dates=short)
    assert "pinch" not in steps(seedling(), RAISED, dates=chosen(pinch="leave"))
    assert "pinch" not in steps(seedling(), RAISED, TALL)


def test_first_flowers_come_off_a_plant_too_small_to_carry_fruit() -> None:
    """Common practice, no source; a setting."""
    assert "too small to carry fruit" in steps(summer())["flowers_off"].reason
    assert "flowers_off" not in steps(summer(), dates=chosen(first_flowers="leave"))
    flowered = [*seedling(), fact(Kind.FIRST_FLOWER, date(2026, 5, 4))]
    inside = steps(flowered, date(2026, 5, 4))["flowers_off"]
    assert inside.window.best == date(2026, 5, 4)
    assert "flowers_off" not in steps(kept())


# Feed and water


def test_little_nitrogen_for_young_peppers_and_bone_meal_in_the_hole() -> None:
    """Common practice, no source."""
    words = steps(seedling(), RAISED)["plant_out"].reason
    assert "Into the hole bone meal and a material of about 1-0-2: little nitrogen" in words
    bone = MATERIALS["bone_meal"]
    assert bone.p2o5 > 2 * bone.n
    assert "bone meal" not in steps(seedling(), RAISED, TALL)["plant_out"].reason


def test_the_first_real_feed_three_to_four_weeks_after_and_then_every_three_weeks() -> None:
    """Three to four weeks: Clemson Home & Garden Information Center. Every three weeks and an
    analysis such as 2-4-2: common practice, no source."""
    found = [step for step in plan(life_of(summer()), "annuum", SITE, OUT) if "feed" in step.kind]
    first, second, third = found[:3]
    assert first.window.earliest == OUT + timedelta(21)
    assert first.window.latest == OUT + timedelta(28)
    assert "an analysis such as 2-4-2" in first.reason
    for before, after in ((first, second), (second, third)):
        assert after.window.best - before.window.best == timedelta(21)


def test_even_watering_cures_blossom_end_rot_and_magnesium_salts_do_not() -> None:
    """J. Fulton, blossom-end rot, University of Illinois Extension."""
    rot = SYMPTOMS["blossom_end_rot"].causes[0]
    assert rot.label == "Uneven watering"
    assert "Magnesium salts are no cure" in rot.remedy
    assert rot.source == "ber_illinois"
    harvest = steps(summer())["harvest"].reason
    assert "even watering is its cure, magnesium salts are none" in harvest


def test_drip_under_mulch_leaves_dry_watered_in_and_labelled() -> None:
    """Mulch of 2 to 4 in: University of Illinois Extension. The rest: common practice."""
    found = steps(summer())
    mulch = in_units(found["mulch"].reason, "F", "in")
    assert "2 in to 4 in of mulch, the drip line under it, leaves kept dry." in mulch
    assert found["water_in"].window.best == OUT
    assert "a label at every plant" in found["label"].reason


def test_a_legume_before_leaves_some_nitrogen() -> None:
    """From memory: small to nil once picked; 40 lb an acre after a field of pulse (South Dakota
    2013), none in a North Dakota trial (Andersen et al. 2020)."""
    peas = [
        fact(Kind.SOWN, date(2026, 3, 16), quantity=100),
        fact(Kind.EMERGED, date(2026, 4, 1), quantity=90),
    ]
    words = steps(peas, date(2026, 4, 1), "pea")["clear"].reason
    assert "leave the roots" in words
    assert "at most {2.4 g/m2} of nitrogen" in words


# Heat


def test_about_30_percent_shade_from_midday_when_the_first_fruit_scalds() -> None:
    """About 30 percent: Diaz-Perez, ASHS 2011 (University of Georgia). Morning sun kept: common
    practice, no source."""
    seen = date(2026, 7, 20)
    scalded = [*summer(), fact(Kind.SYMPTOM, seen, choice="sunscald")]
    shade = steps(scalded, seen)["shade"]
    assert shade.window.best == seen
    assert (
        "Put up shade of about 30 % from midday, on the afternoon side, and keep the morning sun."
    ) in shade.reason
    assert "shade" not in steps(summer(), seen)
    wave = SiteEvent(Weather.HEAT, seen)
    assert "shade" in steps(summer(), seen, events=(wave,))


def test_three_hundred_tomatoes_from_fifty_square_feet_is_six_a_square_foot() -> None:
    """300 a year: growers' word, no source. 8 lb a plant: L. B. Stack, University of Maine."""
    tomato = CROPS[TALL]
    spacing, rows = tomato.fact("spacing"), tomato.fact("row_spacing")
    fruit = tomato.fact("fruit_per_plant")
    closest = spacing.value / 12 * rows.value / 12
    assert spacing.to is not None
    assert rows.to is not None
    widest = spacing.to / 12 * rows.to / 12
    told = 300 / 50
    assert fruit.si / widest < told <= fruit.si_high / closest
    assert "300 a year from 50 square feet" in tomato.fact("fruit_per_plant").note


# Seed


def test_old_seed_is_tested_before_it_is_sown() -> None:
    """Two years for pepper: Iowa State University Extension 1999. Three: R. Watts, a setting."""
    planned = [fact(Kind.PLANNED, date(2026, 1, 5))]
    today = date(2026, 1, 5)
    assert "seed_test" in steps(planned, today, seed_age=3)
    assert "seed_test" not in steps(planned, today, seed_age=2)
    assert "seed_test" not in steps(planned, today, dates=chosen(pepper_seed_life="3"), seed_age=3)
    told = steps(planned, today, seed_age=3, seed_test=0.5)["sow"].reason
    assert "sow 25 seeds, of which 50 % sprouted, for 12 plants." in told


def test_slow_species_are_not_given_up_early() -> None:
    """Bosland & Votava, from memory: 14 to 28 days, pubescens 28 to 56."""
    sown = [fact(Kind.SOWN, date(2026, 3, 1), quantity=20)]
    for crop, slowest in (("chinense", 28), ("pubescens", 56)):
        step = steps(sown, date(2026, 3, 1), crop)["emergence"]
        assert "Do not give up early." in step.reason
        assert step.window.latest == date(2026, 3, 1) + timedelta(slowest)

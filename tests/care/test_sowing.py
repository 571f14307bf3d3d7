"""Sowing under cover: when, how many seeds, and old seed tested first.

Weeks before planting out: Michigan State (annuum), Bosland & Votava (the slower species, from
memory), Colorado State (tomato), Knott 1997 (eggplant, from memory). Seed life and the towel test:
Iowa State 1999; three years for pepper: R. Watts. Seedlings by soil temperature: Harrington &
Minges 1954. The weeks ahead of sowing in which old seed is tested are common practice, no source.
"""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from lifecycle.care.outlook import Ground, Outlook
from lifecycle.care.raising import plan_sowing
from lifecycle.care.sowing import how_many, sow
from lifecycle.care.steps import Step
from lifecycle.handbook import CROPS, Crop
from lifecycle.life.fold import Fact
from lifecycle.life.kinds import Kind
from tests.care.sites import typed_site
from tests.care.summers import outlook_of
from tests.life.facts import fact, life_of

NEW_YEAR = date(2026, 1, 5)
PEPPER = CROPS["annuum"]
FIFTY = {"plant_out_night": "50"}


def edges(step: Step) -> tuple[str, str, str]:
    window = step.window
    return tuple(f"{day:%m-%d}" for day in (window.earliest, window.best, window.latest))


def sowing(
    crop: str = "annuum", today: date = NEW_YEAR, since: date = NEW_YEAR, **chosen: str
) -> Step:
    return sow(CROPS[crop], outlook_of(today, crop, **chosen), since)


# Planting out falls best on 25 May for peppers, 11 May for tomatoes, 15 June for eggplants.


@pytest.mark.parametrize(
    ("crop", "window", "weeks", "out", "source"),
    [
        ("annuum", ("03-16", "03-23", "03-30"), "8 to 10", "05-25", "msu"),
        ("chinense", ("03-02", "03-09", "03-16"), "10 to 12", "05-25", "bosland"),
        ("pubescens", ("03-02", "03-09", "03-16"), "10 to 12", "05-25", "bosland"),
        ("tomato_cherry", ("03-23", "03-30", "04-06"), "5 to 7", "05-11", "csu_agent"),
        ("eggplant", ("04-13", "04-24", "05-04"), "6 to 9", "06-15", "handbook97"),
    ],
)
def test_weeks_before_planting_out(
    crop: str, window: tuple[str, str, str], weeks: str, out: str, source: str
) -> None:
    step = sowing(crop)
    assert edges(step) == window
    assert step.reason.startswith(
        f"{weeks} weeks before planting out, best on {{2026-{out}}} here. At {{25.00 C}} (assumed) "
    )
    assert step.identity == ("sow", 2026, 1)
    assert (step.counts_from, step.anchor, step.waits_for) == (NEW_YEAR, "planting out", "")
    assert step.source == source
    assert step.setting == ("plant_out_night" if CROPS[crop].group == "pepper" else "")


def test_the_choice_of_nights_moves_sowing_of_peppers_only() -> None:
    assert edges(sowing(**FIFTY)) == ("03-02", "03-09", "03-16")
    assert edges(sowing("tomato_semi", **FIFTY)) == edges(sowing("tomato_semi"))


def test_a_variety_with_one_lead_time_is_sown_in_that_week() -> None:
    eight = PEPPER.adapted({"sow_weeks": 56})
    step = sow(eight, outlook_of(NEW_YEAR), NEW_YEAR)
    assert edges(step) == ("03-27", "03-30", "04-02")
    assert step.reason.startswith("8 weeks before planting out, best on {2026-05-25} here. ")
    assert step.source == "garden"


def test_a_missed_sowing_stands_for_45_days_and_then_goes_to_next_year() -> None:
    last = date(2026, 3, 30) + timedelta(45)
    assert sowing(today=last).growing_year == 2026
    late = sowing(today=last + timedelta(1))
    assert (late.growing_year, edges(late)) == (2027, ("03-16", "03-23", "03-30"))
    # One planned for later than today is sown for the season of its own day.
    ahead = sowing(today=NEW_YEAR, since=last + timedelta(1))
    assert (ahead.growing_year, ahead.counts_from) == (2027, last + timedelta(1))


# How many


def seeds(bench_c: float | None = None, tested: float | None = None, crop: Crop = PEPPER) -> str:
    outlook = outlook_of(NEW_YEAR, ground=Ground(temperature_c=bench_c))
    return how_many(crop, replace(outlook, seed_test=tested))


@pytest.mark.parametrize(
    ("bench_c", "tested", "words"),
    [
        (None, None, " At {25.00 C} (assumed) sow 13 sound seeds for 12 plants."),
        (25.0, None, " At {25.00 C} sow 13 sound seeds for 12 plants."),
        (15.0, None, " At {15.00 C} sow 18 sound seeds for 12 plants."),
        (15.0, 0.5, " At {15.00 C} sow 35 seeds, of which 50 % sprouted, for 12 plants."),
        (
            None,
            1.0,
            " At {25.00 C} (assumed) sow 13 seeds, of which 100 % sprouted, for 12 plants.",
        ),
        # 12 of 0.98 x 0.11: 112.
        (25.0, 0.11, " At {25.00 C} sow 112 seeds, of which 11 % sprouted, for 12 plants."),
        (25.0, 0.1, " Too few of the seeds sprouted in their test: buy new."),
        (25.0, 0.0, " Too few of the seeds sprouted in their test: buy new."),
        # A bench at which next to nothing comes up is not the fault of the seed.
        (10.0, None, ""),
        (10.0, 0.9, ""),
        (40.0, None, ""),
        (40.0, 0.9, ""),
        (2.0, None, ""),
        (2.0, 0.0, ""),
    ],
)
def test_how_many_for_a_dozen_plants(
    bench_c: float | None, tested: float | None, words: str
) -> None:
    assert seeds(bench_c, tested) == words


def test_more_than_120_seeds_for_a_dozen_plants_is_not_advised() -> None:
    steep = replace(PEPPER, normal=((10.0, 0.1), (20.0, 0.2)))
    assert seeds(10.0, crop=steep) == " At {10.00 C} sow 120 sound seeds for 12 plants."
    steeper = replace(PEPPER, normal=((10.0, 0.099), (20.0, 0.2)))
    assert seeds(10.0, crop=steeper) == ""
    # As good as the bench: whose fault it is, the test does not say.
    assert seeds(10.0, 0.1, steep) == ""
    assert seeds(10.0, 0.09, steep) == " Too few of the seeds sprouted in their test: buy new."


def test_where_no_table_is_published_only_a_test_says_how_many() -> None:
    assert seeds(crop=CROPS["carrot"]) == ""
    assert seeds(8.0, 0.5, CROPS["carrot"]) == (
        " Sow 24 seeds, of which 50 % sprouted, for 12 plants."
    )
    assert seeds(None, 0.05, CROPS["carrot"]) == (
        " Too few of the seeds sprouted in their test: buy new."
    )


def test_the_share_that_sprouted_reaches_the_sowing_step() -> None:
    outlook = replace(outlook_of(NEW_YEAR, "eggplant"), seed_test=0.8)
    assert sow(CROPS["eggplant"], outlook, NEW_YEAR).reason == (
        "6 to 9 weeks before planting out, best on {2026-06-15} here. At {25.00 C} (assumed) sow "
        "29 seeds, of which 80 % sprouted, for 12 plants."
    )


# Old seed


def planned(
    crop: str = "annuum",
    age: int | None = 3,
    tested: float | None = None,
    facts: tuple[Fact, ...] = (),
    **chosen: str,
) -> list[Step]:
    """The steps of a sowing planned at new year."""
    outlook: Outlook = outlook_of(NEW_YEAR, crop, **chosen)
    outlook = replace(outlook, seed_age=age, seed_test=tested)
    life = life_of([fact(Kind.PLANNED, NEW_YEAR), *facts], "sowing")
    return plan_sowing(life, CROPS[crop], outlook)


def asked(*args, **more) -> list[Step]:
    return [step for step in planned(*args, **more) if step.kind == "seed_test"]


def test_old_seed_is_tested_weeks_before_it_is_sown() -> None:
    first, second = planned()
    assert (first.kind, second.kind) == ("seed_test", "sow")
    assert edges(first) == ("02-02", "02-16", "03-02")
    assert first.reason == (
        "The seed is 3 years old, and stays good for 2 in favourable storage: sprout 20 in a damp "
        "towel at {21.11 C} to {26.67 C} and count."
    )
    assert first.identity == ("seed_test", 2026, 1)
    assert (first.counts_from, first.anchor, first.waits_for) == (NEW_YEAR, "sowing", "")
    assert (first.source, first.setting) == ("iowa_seed", "pepper_seed_life")


@pytest.mark.parametrize(
    ("crop", "life", "source"),
    [
        ("annuum", 2, "iowa_seed"),
        ("tomato_determinate", 4, "iowa_seed"),
        ("eggplant", 4, "iowa_seed"),
        ("pea", 3, "iowa_seed"),
        ("bean", 3, "iowa_seed"),
        ("lettuce", 6, "iowa_seed"),
        ("onion", 1, "iowa_seed"),
        ("brassica", 3, "iowa_seed"),
        ("carrot", 3, "iowa_seed"),
        ("squash", 4, "handbook97"),
        ("corn", 2, "iowa_seed"),
    ],
)
def test_seed_is_old_past_the_life_of_its_crop(crop: str, life: int, source: str) -> None:
    assert asked(crop, life) == []
    [step] = asked(crop, life + 1)
    assert f"The seed is {life + 1} years old, and stays good for {life} in" in step.reason
    assert step.source == source
    assert step.setting == ("pepper_seed_life" if crop == "annuum" else "")
    assert asked(crop, None) == []


def test_the_setting_makes_pepper_seed_last_a_year_longer() -> None:
    assert asked(age=3, pepper_seed_life="3") == []
    [step] = asked(age=4, pepper_seed_life="3")
    assert "stays good for 3 in favourable storage" in step.reason
    assert (step.source, step.setting) == ("watts", "pepper_seed_life")
    assert asked("tomato_cherry", 4, pepper_seed_life="3") == []


def test_of_garlic_nobody_says_how_long_it_keeps() -> None:
    assert asked("garlic", 9) == []


def test_a_test_already_made_is_not_asked_for() -> None:
    assert asked(tested=0.0) == []
    assert asked(facts=(fact(Kind.SEED_TESTED, date(2026, 1, 6), quantity=60.0),)) == []


def test_under_a_southern_year_the_test_belongs_to_the_season_it_is_for() -> None:
    south = typed_site(
        last_freeze="10-20", first_freeze="04-14", warm_from="11-25", cool_from="03-30",
        southern=True, year_starts_in=7,
    )  # fmt: skip
    first, second = planned(dates=south)
    assert first.growing_year == second.growing_year == 2026
    assert first.window.best == second.window.earliest - timedelta(28)

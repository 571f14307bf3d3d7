"""When seedlings should show, by crop and by the temperature of the bench or the bed.

Days to emergence: Harrington & Minges 1954, in Knott's Handbook 1997. The slow species: Bosland &
Votava, from memory. Coldest and best soils: University of Florida IFAS second hand, and Knott 1997
from memory. Two weeks where no table is at hand, and twice the days before one looks for the fault,
are common practice, no source.
"""

from dataclasses import replace
from datetime import date

import pytest

from lifecycle.care.emerging import emergence
from lifecycle.care.outlook import Ground
from lifecycle.care.steps import Step
from lifecycle.handbook import CROPS, Crop, Fact
from lifecycle.life.kinds import Kind
from tests.care.summers import outlook_of
from tests.care.summers import window as days_after
from tests.life.facts import fact, life_of

SOWN = date(2026, 3, 23)


def looked_for(crop: Crop | str, bench_c: float | None = None) -> Step:
    grown = CROPS[crop] if isinstance(crop, str) else crop
    life = life_of([fact(Kind.SOWN, SOWN, quantity=20)], "sowing")
    outlook = outlook_of(SOWN, grown.key, ground=Ground(temperature_c=bench_c))
    return emergence(life, grown, outlook, 2026)


def window(crop: Crop | str, bench_c: float | None = None) -> tuple[int, int, int]:
    return days_after(looked_for(crop, bench_c), SOWN)


def f(degrees: float) -> float:
    return (degrees - 32) / 1.8


@pytest.mark.parametrize(
    ("crop", "bench_f", "days"),
    [
        # From three quarters of the days of the table to twice as many.
        ("annuum", 59, (18, 25, 50)),
        ("annuum", 68, (9, 13, 26)),
        ("annuum", 77, (6, 8, 16)),
        ("annuum", 95, (6, 9, 18)),
        ("tomato_semi", 50, (32, 43, 86)),
        ("tomato_semi", 68, (6, 8, 16)),
        ("eggplant", 68, (9, 13, 26)),
        ("eggplant", 86, (3, 5, 10)),
        ("pea", 50, (10, 14, 28)),
        ("lettuce", 77, (1, 2, 4)),
    ],
)
def test_by_the_crops_own_table(crop: str, bench_f: int, days: tuple[int, int, int]) -> None:
    assert window(crop, f(bench_f)) == days


def test_the_step() -> None:
    step = looked_for("annuum", 20.0)
    assert step.reason == "Expect pepper seedlings in about 13 days at {20.00 C}."
    assert step.identity == ("emergence", 2026, 1)
    assert (step.counts_from, step.anchor, step.source) == (SOWN, "sowing", "knott")
    assert (step.waits_for, step.setting) == ("", "")
    # Between two rows of the table: 13 days at 20 C, 8 at 25 C.
    assert looked_for("annuum", 22.0).reason == (
        "Expect pepper seedlings in about 11 days at {22.00 C}."
    )


@pytest.mark.parametrize(
    ("crop", "word", "days"),
    [("annuum", "pepper", 8), ("tomato_cherry", "tomato", 6), ("eggplant", "eggplant", 8)],
)
def test_a_bench_of_unknown_warmth_is_taken_at_77_f(crop: str, word: str, days: int) -> None:
    assert looked_for(crop).reason == (
        f"Expect {word} seedlings in about {days} days at {{25.00 C}} (assumed)."
    )


@pytest.mark.parametrize(
    ("crop", "latin", "span", "days"),
    [
        ("chinense", "Capsicum chinense", "14 to 28", (10, 14, 28)),
        ("baccatum", "Capsicum baccatum", "14 to 28", (10, 14, 28)),
        ("frutescens", "Capsicum frutescens", "14 to 28", (10, 14, 28)),
        ("pubescens", "Capsicum pubescens", "28 to 56", (21, 28, 56)),
    ],
)
def test_slow_species_are_not_given_up(
    crop: str, latin: str, span: str, days: tuple[int, int, int]
) -> None:
    step = looked_for(crop, 30.0)
    assert days_after(step, SOWN) == days
    assert step.reason == (
        f"{latin} commonly takes {span} days in warmth; the bench has {{30.00 C}}. "
        "Do not give up early."
    )
    assert step.source == "bosland"
    assert "the bench has {25.00 C} (assumed)." in looked_for(crop).reason


def with_facts(key: str, **facts: Fact | None) -> Crop:
    crop = CROPS[key]
    kept = {**crop.facts, **facts}
    return replace(crop, facts={name: each for name, each in kept.items() if each is not None})


def made(value: float, unit: str, to: float | None = None) -> Fact:
    return Fact("made up", value, unit, "handbook97", "memory", to=to)


def test_a_slow_crop_is_overdue_after_its_slowest_or_twice_its_quickest() -> None:
    assert window(with_facts("annuum", slow_days=made(10, "days", 40)), 30.0) == (7, 10, 40)
    assert window(with_facts("annuum", slow_days=made(10, "days", 12)), 30.0) == (7, 10, 20)


@pytest.mark.parametrize("crop", ["annuum", "pubescens"])
def test_too_cold_a_bench(crop: str) -> None:
    step = looked_for(crop, 14.9)
    assert step.reason == (
        "No pepper comes up at {14.90 C}. Warm the bench to {25 C} to {30 C}; even at {15.00 C} it "
        "takes 25 days."
    )
    assert days_after(step, SOWN) == (18, 25, 50)
    assert step.source == "knott"
    assert "No pepper" not in looked_for(crop, 15.0).reason


def test_where_one_warmth_is_the_quickest() -> None:
    assert looked_for("onion", -1.0).reason == (
        "How long onion takes at {-1.00 C} is not published. Warm the bench to {25 C} to {30 C}; "
        "even at {0.00 C} it takes 136 days."
    )
    assert looked_for("lettuce", -1.0).reason == (
        "How long lettuce takes at {-1.00 C} is not published. Warm the bench to {25 C}; even at "
        "{0.00 C} it takes 49 days."
    )
    # Below the first row of a table at which nothing comes up.
    one_row = replace(CROPS["annuum"], emergence=((5.0, None), (10.0, 20.0), (20.0, 8.0)))
    assert looked_for(one_row, 4.0).reason.startswith("No pepper comes up at {4.00 C}.")


def test_too_hot_a_bench() -> None:
    step = looked_for("annuum", 36.0)
    assert step.reason == (
        "No pepper comes up at {36.00 C}. Cool it to {35.00 C}: there it takes 9 days."
    )
    assert days_after(step, SOWN) == (6, 9, 18)
    assert looked_for("annuum", 35.0).reason == (
        "Expect pepper seedlings in about 9 days at {35.00 C}."
    )
    assert looked_for("lettuce", 33.0).reason == (
        "No lettuce comes up at {33.00 C}. Cool it to {30.00 C}: there it takes 3 days."
    )


@pytest.mark.parametrize(
    ("crop", "bench_c", "words"),
    [
        ("eggplant", 15.0, "Warm the bench to {30 C}; even at {20.00 C} it takes 13 days."),
        ("eggplant", 31.0, "Cool it to {30.00 C}: there it takes 5 days."),
        ("pea", 4.0, "Warm the bench to {25 C} to {30 C}; even at {5.00 C} it takes 36 days."),
        ("bean", 32.0, "Cool it to {30.00 C}: there it takes 6 days."),
    ],
)
def test_off_a_table_that_ends_while_seeds_still_come_up_nothing_is_claimed(
    crop: str, bench_c: float, words: str
) -> None:
    assert looked_for(crop, bench_c).reason == (
        f"How long {crop} takes at {{{bench_c:.2f} C}} is not published. {words}"
    )


@pytest.mark.parametrize(
    ("crop", "word", "quick", "warm", "slow", "cold"),
    [
        # Quickest at the best soil, slowest at the coldest it comes up in.
        ("pea", "pea", 6, "23.89", 36, "5.00"),
        ("bean", "bean", 7, "26.67", 15, "15.56"),
        ("lettuce", "lettuce", 2, "23.89", 38, "1.67"),
        ("onion", "onion", 4, "23.89", 101, "1.67"),
    ],
)
def test_in_a_bed_the_soil_warms_meanwhile(
    crop: str, word: str, quick: int, warm: str, slow: int, cold: str
) -> None:
    step = looked_for(crop)
    assert step.reason == (
        f"Expect {word} seedlings in {quick} days at {{{warm} C}} to {slow} days at {{{cold} C}} "
        "of soil; thin when the first true leaves open."
    )
    assert days_after(step, SOWN) == (quick, slow, 2 * slow)
    assert step.source == "knott"


def test_in_a_bed_whose_coldest_and_best_soils_nobody_published() -> None:
    bare = with_facts("bean", soil_min=None, soil_best=None)
    # From the first row of the table at which something comes up: 16 days at 59 F.
    assert window(bare) == (16, 16, 32)
    assert "in 16 days at {15.00 C} to 16 days at {15.00 C}" in looked_for(bare).reason
    # Beyond the table: what its first row says.
    hot = with_facts("bean", soil_min=made(40, "C"), soil_best=made(41, "C"))
    assert window(hot) == (16, 16, 32)
    cool = with_facts("bean", soil_best=made(59, "F"))
    assert window(cool) == (15, 15, 30)


@pytest.mark.parametrize(
    ("crop", "word"),
    [
        ("carrot", "carrot"),
        ("brassica", "cabbage and kale"),
        ("squash", "squash"),
        ("corn", "sweet corn"),
        ("garlic", "garlic"),
    ],
)
@pytest.mark.parametrize("bench_c", [None, 8.0])
def test_without_a_table_one_looks_after_two_weeks(
    crop: str, word: str, bench_c: float | None
) -> None:
    step = looked_for(crop, bench_c)
    assert step.reason == (
        f"No table of days to emergence is at hand for {word}: look after 14 days, and thin when "
        "the first true leaves open."
    )
    assert days_after(step, SOWN) == (10, 14, 28)
    assert step.source == "practice"

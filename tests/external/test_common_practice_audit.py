"""The practices of a seasoned grower, each reached from a plan: common practice, no source.

Where a published source is at hand its own test names it (see docs/check-values.md); here it is
asked that the plan of a plant, as a gardener opens it, carries the practice as a step or a warning.
"""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from lifecycle.agronomy.nutrients import Analysis
from lifecycle.care.bed import Bed, Standing
from lifecycle.care.bed_room import fruit, single_stem_remark
from lifecycle.care.feeding import FedPlant, Feed, warnings
from lifecycle.care.outlook import Ground, Nights
from lifecycle.care.plan import plan
from lifecycle.care.policy import DEFAULTS, SETTINGS, policy_of
from lifecycle.care.steps import Step
from lifecycle.care.wording import in_units
from lifecycle.handbook import CROPS, MATERIALS, SYMPTOMS
from lifecycle.life.fold import Fact
from lifecycle.life.kinds import RULES, Kind
from tests.care.sites import typed_site
from tests.life.facts import fact, life_of

RAISED, OUT = date(2026, 4, 10), date(2026, 5, 25)
TALL, BUSH = "tomato_indeterminate", "tomato_determinate"


def potted(count: int = 1) -> list[Fact]:
    return [fact(Kind.RAISED, RAISED, inside=True, quantity=count)]


def set_out(count: int = 1) -> list[Fact]:
    return [*potted(count), fact(Kind.PLANTED_OUT, OUT, inside=False)]


def steps(
    facts: list[Fact], today: date = OUT, crop: str = "annuum", *, chosen=None, **more
) -> dict[str, Step]:
    """The next step of each kind."""
    dates = replace(typed_site(), policy=policy_of(chosen or {}))
    found: dict[str, Step] = {}
    for step in plan(life_of(facts), crop, dates, today, **more):
        found.setdefault(step.kind, step)
    return found


@pytest.mark.parametrize(
    ("low_f", "words"),
    [
        (55, "All seven nights stay at {12.78 C} or above: plant out."),
        (52, "planting out is allowed, but keep a cover at hand."),
        (49, "Hold: the coldest of the seven nights is {9.44 C}, below {10.00 C}"),
    ],
)
def test_nights_of_55_f_before_peppers_go_out_50_a_warning_below_hold(low_f, words) -> None:
    nights = Nights(OUT, ((low_f - 32) / 1.8,) * 7)
    step = steps(potted(), crop="annuum", nights=nights)["plant_out"]
    assert words in step.reason
    assert step.setting == "plant_out_night"
    assert (step.window.earliest > OUT) is (low_f < 50)


def test_purple_veins_after_an_early_night_out_are_cold_shock_and_a_short_feed() -> None:
    assert SYMPTOMS["purple_veins"].causes[0].label == "Cold shock and short feed"
    assert "curled" in RULES[Kind.SYMPTOM].choices["purple_veins"]
    seen = date(2026, 5, 12)
    waiting = [*potted(), fact(Kind.SYMPTOM, seen, choice="purple_veins")]
    reason = steps(waiting, seen)["plant_out"].reason
    assert (
        "Cold shock and a short feed showed on {2026-05-12}: plant out when nights allow" in reason
    )
    later = date(2026, 5, 30)
    out = [*set_out(), fact(Kind.SYMPTOM, later, choice="purple_veins")]
    assert steps(out, later)["first_feed"].window.best == later


@pytest.mark.parametrize("crop", [TALL, BUSH, "tomato_cherry", "tomato_semi"])
def test_tomatoes_go_deep_or_lie_on_their_side(crop: str) -> None:
    reason = steps(potted(), RAISED, crop)["plant_out"].reason
    assert "Set tomatoes deep, to the first true leaf" in reason
    assert "in a bed only {15 cm} deep over wire lay them on their side" in reason


def test_peppers_go_no_deeper_than_they_stood() -> None:
    words = "Set peppers no deeper than they stood."
    assert words in steps(potted(), RAISED)["plant_out"].reason
    sowing = [fact(Kind.SOWN, RAISED, quantity=9), fact(Kind.EMERGED, OUT, quantity=6)]
    [pot_up] = plan(life_of(sowing, "sowing"), "annuum", typed_site(), OUT)
    assert words in pot_up.reason


def test_two_in_one_pot_stay_together_and_hold_each_other_up() -> None:
    words = "The two in one pot stay together and hold each other up."
    assert words in steps(potted(2), RAISED)["plant_out"].reason
    for kind in ("stake", "tie"):
        assert words in steps(set_out(2))[kind].reason
        assert words not in steps(set_out())[kind].reason


@pytest.mark.parametrize(
    ("crop", "kind", "words"),
    [
        # Determinate: tall and apart by three feet, caged, unpruned, one flush and finished.
        (BUSH, "cage", "About {91 cm} tall and {91 cm} apart: caged and not pruned"),
        (BUSH, "cage", "One flush, and then it is finished."),
        # Indeterminate: a single stem on a string, a foot apart.
        (TALL, "string", "One stem on a string, {30 cm} to {38 cm} apart."),
        (TALL, "string", "Left alone, one plant can cover {305 cm}."),
        (TALL, "side_shoots", "Every 3 to 4 days"),
        (TALL, "wind_on", "at midday, when stems bend without breaking"),
        (TALL, "lower", "let it down by {61 cm} and hang it again instead of topping it."),
        # Peppers: a two-foot stake six inches in the ground, tied at a foot.
        ("annuum", "stake", "a stake of {61 cm}, {15 cm} of it in the ground."),
        ("annuum", "tie", "At about {30 cm} tall"),
        # Feed, water, label, mulch.
        ("annuum", "first_feed", "Three to four weeks after planting out"),
        ("annuum", "first_feed", "Little nitrogen for young peppers: an analysis such as 2-4-2"),
        ("annuum", "feed", "Every three weeks"),
        ("annuum", "harvest", "even watering is its cure, magnesium salts are none."),
        ("annuum", "water_in", "water in the same day"),
        ("annuum", "label", "a label at every plant"),
        ("annuum", "mulch", "the drip line under it, leaves kept dry."),
        # First flowers off a plant too small to carry fruit.
        ("annuum", "flowers_off", "a plant too small to carry fruit"),
    ],
)
def test_a_plant_just_set_out_is_told(crop: str, kind: str, words: str) -> None:
    assert words in steps(set_out(), crop=crop)[kind].reason


def test_no_tomato_is_topped_and_no_determinate_one_pruned() -> None:
    assert "pinch" not in steps(potted(), RAISED, TALL)
    assert not {"pinch", "side_shoots", "string"} & set(steps(set_out(), crop=BUSH))


def test_peppers_are_topped_at_six_leaves_unless_the_season_is_short() -> None:
    assert steps(potted(), RAISED)["pinch"].reason.startswith("At about 6 true leaves")
    short = typed_site(first_freeze="09-20", cool_from="09-10")
    kinds = {step.kind for step in plan(life_of(potted()), "annuum", short, RAISED)}
    assert "plant_out" in kinds
    assert "pinch" not in kinds


def test_into_the_hole_goes_little_nitrogen_and_bone_meal() -> None:
    reason = steps(potted(), RAISED)["plant_out"].reason
    assert "Into the hole bone meal and a material of about 1-0-2: little nitrogen" in reason
    grade = MATERIALS["grade_1_0_2"]
    assert (grade.n, grade.p2o5, grade.k2o) == (1, 0, 2)
    assert MATERIALS["bone_meal"].n < MATERIALS["bone_meal"].p2o5


def warned(key: str) -> str:
    row = MATERIALS[key]
    feed = Feed(key, row.label, Analysis(row.n, row.p2o5, row.k2o), magnesium=row.magnesium)
    return " ".join(warnings([feed], [FedPlant(CROPS["annuum"], OUT)], None, OUT))


def test_the_feed_task_warns_of_nitrogen_and_of_magnesium_salts() -> None:
    assert "adds nitrogen that a young pepper should not have" in warned("blood_meal")
    assert "adds nitrogen" not in warned("grade_2_4_2")
    assert "no cure for blossom-end rot; even watering is" in warned("epsom")
    assert "They may serve in pots" in warned("epsom")


def test_shade_when_the_first_fruit_scalds_morning_sun_kept() -> None:
    day = date(2026, 7, 20)
    scalded = [*set_out(), fact(Kind.SYMPTOM, day, choice="sunscald")]
    reason = steps(scalded, day)["shade"].reason
    assert "about 30 % from midday, on the afternoon side, and keep the morning sun" in reason


def test_300_tomatoes_from_50_square_feet_beside_fruit_by_area() -> None:
    standing = [Standing(CROPS[TALL], OUT, 50)]
    remark = in_units(single_stem_remark(standing, DEFAULTS), length="in")
    assert remark.startswith("300 tomatoes a year from 50 sq ft are possible with single stems")
    assert "common practice, no source" in remark
    found = fruit(Bed(length_m=3.048, width_m=1.524), standing)
    assert found is not None
    square_feet = 50
    assert found.low == pytest.approx(found.low_m2 * square_feet * 0.09290304)


def test_hardening_is_out_of_sun_and_wind_at_first() -> None:
    reason = steps(potted(), RAISED)["harden"].reason
    assert "Begin with an hour in shade, out of the wind" in reason
    assert "sun bleaches and wind tears leaves that never met them" in reason


def test_an_old_plant_gets_a_stouter_support() -> None:
    kept = [
        fact(Kind.INHERITED, date(2026, 1, 1), inside=True, quantity=1, choice="resting"),
        fact(Kind.WOKEN, date(2026, 4, 10)),
        fact(Kind.PLANTED_OUT, OUT, inside=False),
    ]
    found = steps(kept)
    assert "a stout stake or a trellis" in found["stake_stout"].reason
    assert "stake" not in found


def test_flowers_of_a_plant_kept_growing_indoors_are_set_by_hand() -> None:
    indoors = [
        *set_out(),
        fact(Kind.LIFTED, date(2026, 9, 27)),
        fact(Kind.WINTER_QUARTERS, date(2026, 9, 28), inside=True, choice="growing_on"),
    ]
    step = steps(indoors, date(2026, 9, 29))["pollinate"]
    assert "shake open flowers or touch them with a soft brush" in step.reason
    assert timedelta(5) <= step.window.best - date(2026, 9, 28) <= timedelta(10)


def test_animals_that_burrow_and_gnaw_come_back() -> None:
    hurt = date(2026, 7, 1)
    gnawed = [*set_out(), fact(Kind.DAMAGE, hurt, choice="animal")]
    reason = steps(gnawed, hurt)["guard"].reason
    assert "look for runs and fresh heaps" in reason
    over_wire = steps(gnawed, hurt, ground=Ground(wire=True))["guard"].reason
    assert "Wire lies below the bed" in over_wire


@pytest.mark.parametrize(
    "key",
    sorted(
        {key for key, setting in SETTINGS.items() if setting.plans}
        - {"rotation_gap", "pepper_seed_life"}
    ),
)
def test_where_growers_disagree_a_setting_changes_the_plan(key: str) -> None:
    day = date(2026, 7, 20)
    lives = (
        (potted(), RAISED),
        (set_out(), OUT),
        ([*set_out(), fact(Kind.SYMPTOM, day, choice="sunscald")], day),
        ([*set_out(), fact(Kind.REVIEWED, date(2026, 9, 1), choice="in_ground")], OUT),
        ([*set_out(), fact(Kind.LIFTED, date(2026, 9, 27))], date(2026, 9, 27)),
    )

    def planned(value: str) -> list[dict[str, Step]]:
        return [
            steps(facts, today, crop, chosen={key: value})
            for facts, today in lives
            for crop in ("annuum", TALL)
        ]

    usual = planned(SETTINGS[key].default)
    for choice in SETTINGS[key].choices[1:]:
        assert planned(choice.value) != usual

"""From the tray to the bed: pot up, harden off, plant out by crop, policy and the nights ahead.

Pot up when the first true leaves open: Michigan State. Two weeks of hardening, in below 50 F:
Hennepin County Master Gardeners 2014. Nights of 55 F for peppers: N. Frillman, University of
Illinois Extension 2022; 50 F: University of Minnesota. Tomatoes at 50 F: Illinois. Eggplants at
60 F: Cornell, from memory; from 50 F with a cover, as the rest: common practice, no source.
"""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from lifecycle.care.outlook import Ground, Nights, Outlook
from lifecycle.care.raising import first_hardening, plan_sowing, planting
from lifecycle.care.readiness import SLACK_C, allows
from lifecycle.care.seasons import Season, season
from lifecycle.care.steps import Step
from lifecycle.handbook import CROPS
from lifecycle.life.kinds import Kind
from tests.care.sites import typed_site
from tests.care.summers import OUT, RAISED, later, outlook_of, young
from tests.care.summers import window as days_after
from tests.life.facts import fact, life_of

SOWN, UP = date(2026, 3, 23), date(2026, 4, 6)
AS_STOOD = "Set peppers no deeper than they stood."
DEEP = "Set tomatoes deep, to the first true leaf, for 26 % more at first pick"
TOGETHER = "The two in one pot stay together and hold each other up."
HOLE = "Into the hole bone meal and a material of about 1-0-2: little nitrogen for young peppers."


def edges(step: Step) -> tuple[str, str, str]:
    window = step.window
    return tuple(f"{day:%m-%d}" for day in (window.earliest, window.best, window.latest))


def tray(*more, crop: str = "annuum", began: date = SOWN, **chosen: str) -> list[Step]:
    facts = [fact(Kind.SOWN, began, quantity=20), *more]
    outlook = outlook_of(UP, crop, **chosen)
    return plan_sowing(life_of(facts, "sowing"), CROPS[crop], outlook)


def up(day: date = UP, count: int = 12):
    return fact(Kind.EMERGED, day, quantity=count)


# Pot up


def test_pot_up_when_the_first_true_leaves_open() -> None:
    [step] = tray(up())
    assert days_after(step, UP) == (10, 14, 21)
    assert step.identity == ("pot_up", 2026, 1)
    assert (step.counts_from, step.anchor, step.waits_for) == (UP, "emergence", "")
    assert step.reason == (
        "Seedlings came up on {2026-04-06}: pot up when the first true leaves open. "
        f"{AS_STOOD} {TOGETHER}"
    )
    assert (step.source, step.setting) == ("msu", "pepper_depth")


def test_pot_up_by_the_chosen_depth_of_peppers() -> None:
    [step] = tray(up(), pepper_depth="to_leaf")
    assert step.reason.endswith(
        "Set peppers to the seed leaves: they lodge less, but deeper soil is colder in a cool "
        f"spring. {TOGETHER}"
    )


def test_pot_up_tomatoes_deep_and_eggplants_as_they_stood() -> None:
    [tomato] = tray(up(), crop="tomato_semi")
    # A pot is deep enough, whatever the bed.
    assert tomato.reason == (
        f"Seedlings came up on {{2026-04-06}}: pot up when the first true leaves open. {DEEP}."
    )
    [eggplant] = tray(up(), crop="eggplant")
    assert eggplant.reason.endswith("first true leaves open. Set eggplants as they stood.")
    assert tomato.setting == eggplant.setting == ""


def test_stragglers_do_not_delay_potting_up_and_once_is_enough() -> None:
    [step] = tray(up(), up(UP + timedelta(6), 15))
    assert step.counts_from == UP
    assert tray(up(), fact(Kind.POTTED_UP, UP + timedelta(14), quantity=1)) == []


def test_a_sowing_is_followed_from_plan_to_pot() -> None:
    planned = life_of([fact(Kind.PLANNED, SOWN)], "sowing")
    assert [step.kind for step in plan_sowing(planned, CROPS["annuum"], outlook_of(SOWN))] == [
        "sow"
    ]
    assert [step.kind for step in tray()] == ["emergence"]
    assert [step.kind for step in tray(up())] == ["pot_up"]


def test_a_sowing_belongs_to_the_growing_year_it_began_in() -> None:
    dates = replace(typed_site(), year_starts_in=4)
    assert tray(dates=dates)[0].growing_year == 2025
    assert tray(up(), dates=dates)[0].growing_year == 2025
    assert tray(dates=dates, began=date(2026, 4, 1))[0].growing_year == 2026


# Harden off


def the_season(crop: str = "annuum", **chosen: str) -> Season:
    return season(outlook_of(OUT, crop, **chosen).dates, 2026)


def test_hardening_begins_two_weeks_before_planting_out() -> None:
    step = first_hardening(the_season(), RAISED)
    assert edges(step) == ("04-27", "05-11", "05-18")
    assert step.reason == (
        "About two weeks before planting out, best on {2026-05-25} here. Begin with an hour in "
        "shade, out of the wind: sun bleaches and wind tears leaves that never met them. Bring "
        "them in below {10 C}."
    )
    assert step.identity == ("harden", 2026, 1)
    assert (step.counts_from, step.anchor, step.source) == (RAISED, "planting out", "hennepin")
    assert (step.waits_for, step.setting) == ("", "")
    assert edges(first_hardening(the_season("eggplant"), RAISED))[1] == "06-01"


# Plant out


def out(
    crop: str = "annuum",
    today: date = RAISED,
    *,
    kind: str = "plant_out",
    facts=None,
    waits: str = "",
    nights: Nights | None = None,
    **more,
) -> Step:
    outlook: Outlook = replace(outlook_of(today, crop, **more), nights=nights)
    life = life_of(young(out=None) if facts is None else facts)
    return planting(kind, season(outlook.dates, 2026), RAISED, outlook, waits, life)


def test_a_pepper_goes_out() -> None:
    step = out()
    assert edges(step) == ("05-11", "05-25", "06-15")
    assert step.reason == (
        "Night lows here average {12.78 C} from {2026-05-25} and {10.00 C} from {2026-05-11}. "
        f"Peppers are chilled below {{10.00 C}}. {AS_STOOD} {HOLE}"
    )
    assert step.identity == ("plant_out", 2026, 1)
    assert (step.counts_from, step.anchor, step.waits_for) == (RAISED, "warm nights", "")
    assert (step.source, step.setting) == ("illinois", "plant_out_night")


def test_at_the_choice_of_50_f_it_goes_out_two_weeks_sooner() -> None:
    step = out(plant_out_night="50")
    assert edges(step) == ("05-11", "05-11", "06-01")
    assert step.reason.startswith("Night lows here average {10.00 C} from {2026-05-11}. Peppers")
    assert step.source == "umn"


def test_tomatoes_and_eggplants_go_by_nights_of_their_own() -> None:
    tomato = out("tomato_indeterminate")
    assert edges(tomato) == ("05-11", "05-11", "06-01")
    assert tomato.reason == (
        "Night lows here average {10.00 C} from {2026-05-11}. "
        f"{DEEP}; in a bed only {{15 cm}} deep over wire lay them on their side, the tip turned up."
    )
    eggplant = out("eggplant")
    assert edges(eggplant) == ("05-11", "06-15", "07-06")
    assert eggplant.reason == (
        "Night lows here average {15.56 C} from {2026-06-15} and {10.00 C} from {2026-05-11}. "
        "Set eggplants as they stood."
    )
    assert (tomato.source, tomato.setting) == ("illinois", "")
    assert (eggplant.source, eggplant.setting) == ("cornell", "")


def test_a_tomato_lies_in_a_bed_six_inches_deep_over_wire() -> None:
    shallow = Ground(depth_cm=15.24, wire=True)
    assert out("tomato_cherry", ground=shallow).reason.endswith(
        "This bed is only {15 cm} deep over wire: lay tomatoes on their side, the tip turned up."
    )
    assert out(ground=shallow).reason == out().reason


def test_a_pair_goes_out_together() -> None:
    assert out(facts=young(count=2, out=None)).reason.endswith(f"{AS_STOOD} {TOGETHER} {HOLE}")


def test_replanting_puts_nothing_into_the_hole() -> None:
    step = out(kind="replant", waits="wake")
    assert (step.kind, step.waits_for) == ("replant", "wake")
    assert step.reason.endswith(f"Peppers are chilled below {{10.00 C}}. {AS_STOOD}")


def test_without_a_life_it_is_one_plant_and_nothing_was_seen() -> None:
    outlook = outlook_of(RAISED)
    step = planting("plant_out", the_season(), RAISED, outlook, "")
    assert step == out()


def test_cold_shock_seen_while_it_waits_is_answered_by_planting_out_and_feeding() -> None:
    def seen_on(day: date) -> str:
        return out(facts=[*young(out=None), fact(Kind.SYMPTOM, day, choice="purple_veins")]).reason

    assert seen_on(date(2026, 5, 9)) == (
        "Cold shock and a short feed showed on {2026-05-09}: plant out when nights allow, and "
        f"feed. {out().reason}"
    )
    assert seen_on(RAISED).startswith("Cold shock and a short feed showed on {2026-04-10}")
    before = [
        fact(Kind.RAISED, date(2026, 4, 1), inside=True, quantity=1),
        fact(Kind.DAMAGE, RAISED - timedelta(1), choice="cold"),
    ]
    assert out(facts=before).reason == out().reason


# Seven nights


def week(low_c: float, first: date) -> Nights:
    return Nights(first, (20.0,) * 6 + (low_c,))


def judged(low_c: float, crop: str = "annuum", today: date = OUT, **more) -> str:
    return out(crop, today, nights=week(low_c, today), **more).reason.split(":")[0]


def ready(limit: str) -> str:
    return f"All seven nights stay at {{{limit} C}} or above"


def allowed(low: str, limit: str) -> str:
    return f"The coldest of the seven nights is {{{low} C}}, below {{{limit} C}}"


HOLD = "Hold"


@pytest.mark.parametrize(
    ("crop", "chosen", "low_c", "words"),
    [
        ("annuum", "55", 12.8, ready("12.78")),
        ("annuum", "55", 12.7, allowed("12.70", "12.78")),
        ("annuum", "55", 10.0, allowed("10.00", "12.78")),
        ("annuum", "55", 9.9, HOLD),
        ("annuum", "50", 10.0, ready("10.00")),
        ("annuum", "50", 9.9, HOLD),
        ("pubescens", "55", 12.7, allowed("12.70", "12.78")),
        ("tomato_determinate", "55", 10.0, ready("10.00")),
        ("tomato_determinate", "55", 9.9, HOLD),
        ("eggplant", "55", 15.6, ready("15.56")),
        ("eggplant", "55", 15.5, allowed("15.50", "15.56")),
        ("eggplant", "55", 10.0, allowed("10.00", "15.56")),
        ("eggplant", "55", 9.9, HOLD),
    ],
)
def test_the_nights_that_each_crop_wants(crop: str, chosen: str, low_c: float, words: str) -> None:
    # A day on which planting out is near for each of them.
    assert judged(low_c, crop, date(2026, 6, 8), plant_out_night=chosen) == words


def test_a_reading_in_tenths_may_be_half_a_tenth_short() -> None:
    assert allows(10.0 - SLACK_C, 10.0)
    assert not allows(10.0 - SLACK_C - 0.001, 10.0)


def test_the_judgement_stands_before_the_reason_of_the_site() -> None:
    step = out(today=OUT, nights=week(9.0, OUT))
    assert step.reason == (
        "Hold: the coldest of the seven nights is {9.00 C}, below {10.00 C}: nights too cold to "
        f"plant out. {out().reason}"
    )


@pytest.mark.parametrize(
    ("today", "told"),
    [
        (date(2026, 4, 26), False),
        (date(2026, 4, 27), True),  # two weeks before the earliest day
        (date(2026, 7, 30), True),  # 45 days after the latest
        (date(2026, 7, 31), False),
    ],
)
def test_nights_are_told_when_planting_out_is_near(today: date, told: bool) -> None:
    assert (judged(16.0, today=today) == ready("12.78")) is told


@pytest.mark.parametrize(("age", "told"), [(-1, False), (0, True), (2, True), (3, False)])
def test_nights_are_told_while_they_are_fresh(age: int, told: bool) -> None:
    first = OUT - timedelta(age)
    step = out(today=OUT, nights=week(16.0, first))
    assert step.reason.startswith(ready("12.78")) is told


@pytest.mark.parametrize(
    ("first", "best"),
    [
        (date(2026, 5, 10), OUT),  # before the earliest day nothing moves
        (date(2026, 5, 11), date(2026, 5, 11)),
        (date(2026, 5, 20), date(2026, 5, 20)),
        (date(2026, 5, 30), OUT),
    ],
)
def test_ready_nights_bring_the_best_day_forward(first: date, best: date) -> None:
    step = out(today=first, nights=week(12.8, first))
    assert step.window.best == best
    assert (step.window.earliest, step.window.latest) == (date(2026, 5, 11), date(2026, 6, 15))
    # Nights that only allow it bring nothing forward.
    assert edges(out(today=first, nights=week(12.7, first))) == edges(out())


@pytest.mark.parametrize(
    ("first", "window"),
    [
        (date(2026, 5, 3), ("05-11", "05-25", "06-15")),
        (date(2026, 5, 10), ("05-17", "05-25", "06-15")),
        (date(2026, 5, 24), ("05-31", "05-31", "06-15")),
        (date(2026, 6, 14), ("06-21", "06-21", "06-21")),
    ],
)
def test_cold_nights_hold_it_for_the_week(first: date, window: tuple[str, str, str]) -> None:
    assert edges(out(today=first, nights=week(9.9, first))) == window


def test_the_depth_of_peppers_when_planting_out() -> None:
    assert "Set peppers to the seed leaves: they lodge less" in out(pepper_depth="to_leaf").reason
    assert days_after(out(pepper_depth="to_leaf"), later(0)) == (-14, 0, 21)

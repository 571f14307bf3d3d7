"""Winter in the ground: the zone's words, the patrol, and the two cutbacks."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from lifecycle.care.ground_winter import (
    AFTER_FROST,
    cut_back_in_ground,
    frost_starts,
    ground_care,
    zone_words,
)
from lifecycle.care.outlook import Ground
from lifecycle.care.seasons import season
from lifecycle.care.steps import Step
from lifecycle.life.kinds import Kind
from tests.care.summers import outlook_of, stood_out, young
from tests.care.winters import FREEZE, LIFT, NO_FROST, TYPED, edges, out, year
from tests.life.facts import fact, life_of

TODAY = date(2026, 9, 1)
ONE = timedelta(1)


def f(degrees: float) -> float:
    return (degrees - 32) / 1.8


MAY = "may keep peppers in the ground"


@pytest.mark.parametrize(
    ("zone", "coldest_f", "words"),
    [
        ("8b", 19.9, "Zone 8b is too cold to keep peppers in the ground: one that comes back is a "
         "bonus."),
        ("9a", 20, f"Zone 9a {MAY}, with covers on frost nights."),
        ("9b", 29.9, f"Zone 9b {MAY}, with covers on frost nights."),
        ("10a", 29.95, f"Zone 10a {MAY}."),
        ("10a", 30, f"Zone 10a {MAY}."),
        ("12b", 60, f"Zone 12b {MAY}."),
        ("", 60, f"This zone {MAY}."),
    ],
)  # fmt: skip
def test_the_zone_says_whether_it_may_stay(zone: str, coldest_f: float, words: str) -> None:
    dates = replace(TYPED, half_zone=zone, extreme_min_c=f(coldest_f))
    assert zone_words(dates) == words


def test_without_a_zone_nothing_is_said() -> None:
    assert zone_words(replace(TYPED, extreme_min_c=None)) == ""


def test_when_frost_is_looked_for() -> None:
    assert frost_starts(year()) == FREEZE
    assert frost_starts(replace(year(), first_freeze_risk=None)) == LIFT
    assert frost_starts(replace(year(), first_freeze_risk=None, lift=None)) is None


def patrol(**more) -> list[Step]:
    outlook = outlook_of(more.pop("today", TODAY), **more)
    return ground_care(life_of(young()), year(), year(2027), outlook)


PEGS = (
    "Frost may come: see that covers, pegs and thermometer are at hand, that stems are sound, and "
    "leave frosted growth on until spring."
)
ZONE = "Zone 5b is too cold to keep peppers in the ground: one that comes back is a bonus."
COUNTED = "Counted from {2026-09-14}."


@pytest.mark.parametrize(
    ("choice", "words", "source"),
    [
        (
            "save_top",
            "To save the top from a light frost, {-1.67 C} to {0.00 C}, rake mulch away the day "
            "before: bare damp soil gives off heat. To save only the crown from {-2.22 C} or less, "
            "others leave it.",
            "ucce",
        ),
        (
            "save_crown",
            "To save the crown from a hard freeze, {-2.22 C} or less, leave {5.1 cm} to {7.6 cm} "
            "of mulch or more on the roots, off the stem. To save the top from a light frost, "
            "others rake it away.",
            "ufifas",
        ),
    ],
)
def test_mulch_before_a_frost_is_a_setting(choice: str, words: str, source: str) -> None:
    first, second, *_ = patrol(mulch_and_frost=choice)
    assert first.reason == f"{PEGS} {words} {ZONE} {COUNTED}"
    assert second.reason == f"{PEGS} {words} {ZONE}"
    assert (first.source, first.setting) == (source, "mulch_and_frost")
    assert first.identity == ("winter_check", 2026, 1)
    assert first.counts_from == date(2026, 9, 14)
    assert (first.waits_for, second.waits_for) == ("", "winter_check")


def test_pots_are_set_together() -> None:
    for choice in ("save_top", "save_crown"):
        first = patrol(mulch_and_frost=choice, ground=Ground(in_pot=True))[0]
        assert first.reason == (
            f"{PEGS} Group pots by a warm wall or under the eaves, and mulch their sides. {ZONE} "
            f"{COUNTED}"
        )


def test_the_patrol_runs_every_two_weeks_until_the_frosts_are_past() -> None:
    steps = patrol()
    assert edges(steps[0]) == ("09-28", "09-28", "10-05")
    assert steps[1].window.best - steps[0].window.best == timedelta(14)
    assert date(2027, 4, 22) < steps[-1].window.best <= date(2027, 5, 6)
    following = replace(year(2027), spring_freeze_risk=None)
    later = ground_care(life_of(young()), year(), following, outlook_of(TODAY))
    assert date(2027, 4, 27) < later[-1].window.best <= date(2027, 5, 11)


def test_the_patrol_counts_from_the_last_check() -> None:
    checked = out((Kind.WINTER_CHECK, date(2026, 10, 1), "sound"))
    first = ground_care(life_of(checked), year(), year(2027), outlook_of(TODAY))[0]
    assert (first.number, edges(first)) == (2, ("10-15", "10-15", "10-22"))


def test_no_patrol_where_no_frost_comes_or_it_is_far() -> None:
    free = season(NO_FROST, 2026)
    assert ground_care(life_of(young()), free, free, outlook_of(TODAY, dates=NO_FROST)) == []
    mild = replace(TYPED, frosty=False)
    assert patrol(dates=mild) == []
    never = replace(year(), first_freeze_risk=None, lift=None)
    assert ground_care(life_of(young()), never, year(2027), outlook_of(TODAY)) == []
    assert len(patrol(until=FREEZE)) == 1
    assert patrol(until=FREEZE - ONE) == []
    assert patrol(until=date(2026, 9, 13)) == []


# The cutbacks


def test_after_the_frosts_it_is_cut_to_green_wood() -> None:
    cut = cut_back_in_ground(life_of(young()), year(2027), TYPED)
    assert cut is not None
    assert edges(cut) == ("04-20", "05-06", "05-20")
    assert cut.identity == ("cut_back", 2027, AFTER_FROST) == ("cut_back", 2027, 2)
    assert cut.counts_from == date(2027, 3, 21)
    assert (cut.anchor, cut.source) == ("the last frost", "ucce")
    assert cut.reason == (
        "Not before the frosts are past, one year in ten later than {2027-05-06}: scratch the "
        "bark, cut to green wood, then feed and water. Late shoots are not yet a dead plant."
    )


@pytest.mark.parametrize(
    ("middle", "risk", "window"),
    [
        (None, date(2027, 5, 6), ("05-06", "05-06", "05-20")),
        (None, None, ("05-11", "05-11", "05-25")),
        (date(2027, 4, 20), None, ("04-20", "04-20", "05-04")),
        (date(2027, 5, 8), date(2027, 5, 6), ("05-08", "05-08", "05-22")),
    ],
)
def test_the_spring_cut_without_all_its_days(middle, risk, window) -> None:
    current = replace(year(2027), spring_freeze_middle=middle, spring_freeze_risk=risk)
    cut = cut_back_in_ground(life_of(young()), current, TYPED)
    assert cut is not None
    assert edges(cut) == window


def test_only_what_stood_out_all_winter_and_is_not_cut_yet() -> None:
    starts = year(2026).starts
    for day, expected in ((starts, False), (starts - ONE, True)):
        facts = [
            fact(Kind.RAISED, date(2025, 9, 1), inside=True, quantity=1),
            fact(Kind.PLANTED_OUT, day, inside=False),
        ]
        cut = cut_back_in_ground(life_of(facts), year(2026), TYPED)
        assert (cut is not None) is expected
    for day, expected in ((date(2026, 3, 21), False), (date(2026, 3, 20), True)):
        facts = [*stood_out(), fact(Kind.CUT_BACK, day)]
        cut = cut_back_in_ground(life_of(facts), year(2026), TYPED)
        assert (cut is not None) is expected
    taken_over = [fact(Kind.INHERITED, starts, inside=False, quantity=1, choice="growing")]
    assert cut_back_in_ground(life_of(taken_over), year(2026), TYPED) is None


def test_where_nothing_freezes_it_is_cut_after_the_crop() -> None:
    current = season(NO_FROST, 2026)
    turn = current.plant_out.best + timedelta(240)
    cut = cut_back_in_ground(life_of(young()), current, NO_FROST)
    assert cut is not None
    assert (cut.window.earliest, cut.window.best, cut.window.latest) == (
        turn - timedelta(30), turn, turn + timedelta(30),
    )  # fmt: skip
    assert cut.identity == ("cut_back", 2026, 1)
    assert (cut.anchor, cut.source) == ("the crop", "ratoon")
    assert cut.counts_from == turn - timedelta(60)
    assert cut.reason == (
        "After a heavy crop or in early autumn: to {20 cm} to {24 cm}. Fewer than one winter in "
        "ten brings a freeze here."
    )
    for days, expected in ((60, False), (61, True)):
        done = life_of(out((Kind.CUT_BACK, turn - timedelta(days))))
        assert (cut_back_in_ground(done, current, NO_FROST) is not None) is expected

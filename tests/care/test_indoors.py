"""Winter under a roof: routines, water, checks, light and salts."""

from datetime import date, timedelta

import pytest

from lifecycle.care.indoors import care_ends, indoor_care
from lifecycle.care.outlook import Ground
from lifecycle.care.policy import policy_of
from lifecycle.care.quarters import Room, growing_room, resting_room
from lifecycle.care.routine import MOST, Routine
from lifecycle.care.steps import Step
from lifecycle.life.fold import Fact, Life
from lifecycle.life.kinds import Kind
from lifecycle.life.phases import Route
from tests.care.summers import outlook_of, young
from tests.care.winters import QUARTERS, edges, inside, woken, year
from tests.life.facts import fact, life_of

ONE = timedelta(1)
NEW_YEAR = date(2027, 1, 1)
WAITING = policy_of({"wake_anchor": "last_frost"})
DEFAULT = policy_of({})


def f(degrees: float) -> float:
    return (degrees - 32) / 1.8


# The routine itself

EVERY = Routine("winter_check", Kind.WINTER_CHECK, (5, 7, 9), "Look.", "practice", "cut_time")


def routine(life: Life, today: date, ends: date, waits: str = "", **more) -> list[Step]:
    return EVERY.steps(life, year(), QUARTERS, outlook_of(today, **more), ends=ends, waits=waits)


def test_the_steps_of_a_routine() -> None:
    steps = routine(life_of(inside()), QUARTERS, QUARTERS + timedelta(14))
    assert [edges(step) for step in steps] == [
        ("10-03", "10-05", "10-07"),
        ("10-10", "10-12", "10-14"),
    ]
    first, second = steps
    assert first.reason == "Look. Counted from {2026-09-28}."
    assert second.reason == "Look."
    assert (first.number, second.number) == (1, 2)
    assert (first.waits_for, second.waits_for) == ("", "winter_check")
    assert {step.counts_from for step in steps} == {QUARTERS}
    assert {step.anchor for step in steps} == {"the time before"}
    assert {(step.source, step.setting) for step in steps} == {("practice", "cut_time")}
    assert routine(life_of(inside()), QUARTERS, QUARTERS + timedelta(14), "lift")[0].waits_for == (
        "lift"
    )


def test_a_routine_ends_on_its_last_day() -> None:
    life = life_of(inside())
    assert len(routine(life, QUARTERS, QUARTERS + timedelta(7))) == 1
    assert routine(life, QUARTERS, QUARTERS + timedelta(6)) == []
    # And where nothing is looked for yet.
    near = QUARTERS + timedelta(5)
    assert len(routine(life, QUARTERS, NEW_YEAR, until=near)) == 1
    assert routine(life, QUARTERS, NEW_YEAR, until=near - ONE) == []


def test_a_routine_counts_from_the_last_time() -> None:
    checked = fact(Kind.WINTER_CHECK, date(2026, 10, 4), choice="sound")
    [first, *_] = routine(life_of([*inside(), checked]), date(2026, 10, 4), NEW_YEAR)
    assert (first.number, edges(first)) == (2, ("10-09", "10-11", "10-13"))
    assert first.reason == "Look. Last on {2026-10-04}."
    on_the_day = fact(Kind.WINTER_CHECK, QUARTERS, choice="sound")
    [first, *_] = routine(life_of([*inside(), on_the_day]), QUARTERS, NEW_YEAR)
    assert first.reason == "Look. Last on {2026-09-28}."


def test_what_was_done_before_it_came_in_keeps_its_number() -> None:
    # The season's autumn begins on 13 September.
    for day, number in ((date(2026, 9, 13), 2), (date(2026, 9, 12), 1)):
        before = [*young(), fact(Kind.WINTER_CHECK, day, choice="sound"), *inside()[2:]]
        [first, *_] = routine(life_of(before), day, NEW_YEAR)
        assert first.number == number
        assert first.reason == "Look. Counted from {2026-09-28}."
    early = EVERY.steps(
        life_of([*inside(), fact(Kind.WINTER_CHECK, date(2026, 9, 28), choice="sound")]),
        year(), date(2026, 9, 1), outlook_of(NEW_YEAR), ends=NEW_YEAR, waits="",
    )  # fmt: skip
    assert early[0].number == 2


def test_after_one_that_is_overdue_the_next_counts_from_today() -> None:
    today = date(2026, 11, 1)
    first, second, *_ = routine(life_of(inside()), today, NEW_YEAR)
    assert first.window.best == date(2026, 10, 5)
    assert second.window.best == today + timedelta(7)


def test_a_waking_plant_counts_from_its_waking() -> None:
    [first, *_] = routine(life_of(woken()), date(2027, 4, 12), date(2027, 5, 1))
    assert first.window.best == date(2027, 4, 19)
    watched = [*woken(), fact(Kind.WINTER_CHECK, date(2027, 4, 14), choice="sound")]
    [first, *_] = routine(life_of(watched), date(2027, 4, 14), date(2027, 5, 1))
    assert first.window.best == date(2027, 4, 21)


def test_a_routine_is_never_endless() -> None:
    assert MOST == 60
    assert len(routine(life_of(inside()), QUARTERS, date(2037, 1, 1))) == 60


# Water, checks, light, salts


def care(
    life: Life, route: Route = Route.RESTING, waits: str = "", today: date = QUARTERS, **more
) -> dict[str, Step]:
    ends = date(2027, 4, 25)
    found: dict[str, Step] = {}
    outlook = outlook_of(today, **more)
    for step in indoor_care(life, year(), QUARTERS, route, outlook, ends=ends, waits=waits):
        found.setdefault(step.kind, step)
    return found


@pytest.mark.parametrize(
    ("choice", "window", "source", "reason"),
    [
        (
            "three_weeks", ("10-12", "10-19", "10-22"), "bucks",
            "At rest: about every three weeks, never bone dry, never wet, and no feed until it "
            "grows. Others water two to three times a month. Counted from {2026-09-28}.",
        ),
        (
            "two_weeks", ("10-08", "10-11", "10-13"), "muncie",
            "At rest: two to three times a month, never bone dry, never wet, and no feed until it "
            "grows. Others water every three weeks. Counted from {2026-09-28}.",
        ),
    ],
)  # fmt: skip
def test_water_at_rest_is_a_setting(choice: str, window: tuple, source: str, reason: str) -> None:
    water = care(life_of(inside()), winter_water=choice)["winter_water"]
    assert (edges(water), water.source, water.reason) == (window, source, reason)
    assert water.setting == "winter_water"


def test_water_in_growth_is_weekly_whatever_the_setting() -> None:
    for choice in ("three_weeks", "two_weeks"):
        water = care(life_of(inside("growing_on")), Route.GROWING_ON, winter_water=choice)
        step = water["winter_water"]
        assert edges(step) == ("10-05", "10-05", "10-08")
        assert step.reason == ("It goes on growing: water about weekly. Counted from {2026-09-28}.")
        assert (step.source, step.setting) == ("bucks", "")


@pytest.mark.parametrize(
    ("facts", "words"),
    [
        (woken(), "It is waking: more water than at rest, about weekly."),
        (
            [fact(Kind.STRUCK_CUTTING, QUARTERS, inside=True, quantity=1)],
            "A young plant in winter: keep it bright and water about weekly.",
        ),
    ],
)
def test_water_goes_by_the_phase(facts: list[Fact], words: str) -> None:
    water = care(life_of(facts), Route.GROWING_ON)["winter_water"]
    assert water.reason.startswith(words)


def test_water_and_checks_are_counted_by_their_entries() -> None:
    day = date(2026, 10, 10)
    facts = [*inside(), fact(Kind.WATERED, day), fact(Kind.WINTER_CHECK, day, choice="sound")]
    rests = care(life_of(facts))
    assert rests["winter_water"].window.best == day + timedelta(21)
    assert rests["winter_check"].window.best == day + timedelta(7)
    grows = [*inside("growing_on"), fact(Kind.WATERED, day)]
    assert care(life_of(grows), Route.GROWING_ON)["winter_water"].number == 2


MITES = "Mites and aphids show first under leaves and on new tips; press stems for soft spots."
LIGHT = (
    "This place is not marked bright: growth wants a sunny window, or a lamp for 14 to 16 hours "
    "a day."
)
COUNTED = "Counted from {2026-09-28}."


def test_the_weekly_check() -> None:
    check = care(life_of(inside()))["winter_check"]
    assert edges(check) == ("10-05", "10-05", "10-08")
    assert (check.reason, check.source, check.setting) == (f"{MITES} {COUNTED}", "practice", "")


def test_the_check_tells_of_the_room() -> None:
    def reason(facts: list[Fact], room_f: float, route: Route, waits: str = "") -> str:
        ground = Ground(temperature_c=f(room_f), bright=True)
        return care(life_of(facts), route, waits, ground=ground)["winter_check"].reason

    rests = reason(inside(), 47, Route.RESTING)
    assert rests == f"{resting_room(f(47)).reason} {MITES} {COUNTED}"
    grows = reason(inside("growing_on"), 62, Route.GROWING_ON)
    assert grows == f"{growing_room(f(62), waking=False).reason} {MITES} {COUNTED}"
    wakes = reason(woken(), 74, Route.GROWING_ON)
    assert (
        wakes == f"{growing_room(f(74), waking=True).reason} {MITES} Counted from {{2027-04-12}}."
    )
    # Of the room it is not in yet nothing is known.
    assert reason(young(), 47, Route.RESTING, "winter_quarters") == f"{MITES} {COUNTED}"


def test_growth_wants_light() -> None:
    def reason(route: Route, waits: str = "", *, bright: bool = False) -> str:
        facts = inside(route.value)
        return care(life_of(facts), route, waits, ground=Ground(bright=bright))[
            "winter_check"
        ].reason

    assert reason(Route.GROWING_ON) == f"{MITES} {LIGHT} {COUNTED}"
    assert reason(Route.GROWING_ON, bright=True) == f"{MITES} {COUNTED}"
    assert reason(Route.GROWING_ON, "winter_quarters") == f"{MITES} {COUNTED}"
    assert reason(Route.RESTING) == f"{MITES} {COUNTED}"


def test_salts_are_washed_out_of_pots_that_are_fed() -> None:
    leach = care(life_of(inside("growing_on")), Route.GROWING_ON)["leach"]
    assert edges(leach) == ("11-17", "11-27", "12-11")
    assert leach.reason == (
        "Feed and hard water leave salts in a pot. About every two months run clear water through, "
        f"twice as much as the pot holds, and let it drain; a white crust says it is due. {COUNTED}"
    )
    assert (leach.source, leach.setting) == ("practice", "")
    done = [*inside("growing_on"), fact(Kind.LEACHED, date(2026, 11, 20))]
    assert care(life_of(done), Route.GROWING_ON)["leach"].window.best == date(2027, 1, 19)
    assert "leach" not in care(life_of(inside()))
    assert "leach" not in care(life_of(woken()), Route.GROWING_ON)


def test_nothing_of_the_winter_is_built_before_it_is_looked_for() -> None:
    life = life_of(inside())
    assert care(life, until=date(2026, 10, 5)) != {}
    assert care(life, until=QUARTERS - ONE) == {}


def test_when_winter_care_ends() -> None:
    coming = year(2027)
    assert care_ends(coming, Route.RESTING, DEFAULT) == date(2027, 4, 25)
    assert care_ends(coming, Route.RESTING, WAITING) == date(2027, 4, 5)
    for policy in (DEFAULT, WAITING):
        assert care_ends(coming, Route.GROWING_ON, policy) == date(2027, 5, 11)


# Rooms


@pytest.mark.parametrize(
    ("room_f", "waking", "answer"),
    [
        (49, False, Room.COLD), (50, False, Room.COOL), (59, False, Room.COOL),
        (60, False, Room.RIGHT), (70, False, Room.RIGHT), (71, False, Room.WARM),
        (49, True, Room.COLD), (50, True, Room.COOL), (64, True, Room.COOL),
        (65, True, Room.RIGHT), (75, True, Room.RIGHT), (76, True, Room.WARM),
    ],
)  # fmt: skip
def test_the_edges_of_a_growing_room(room_f: int, waking: bool, answer: Room) -> None:
    assert growing_room(f(room_f), waking=waking).answer is answer
    assert growing_room(round(f(room_f), 1), waking=waking).answer is answer


def test_the_growing_room_in_words() -> None:
    def words(room_c: float) -> str:
        return growing_room(room_c, waking=False).reason

    assert words(8.0) == "The room has {8.00 C}, below {10.00 C}: move it somewhere warmer today."
    assert words(12.0) == (
        "The room has {12.00 C}, below {15.56 C}: growth stands still; water less."
    )
    assert words(18.0) == "The room has {18.00 C}, right for growth."
    assert words(25.0) == (
        "The room has {25.00 C}, above {21.11 C}: without much light its shoots grow long and thin."
    )

"""Heat wave, hail and flood change the plan of a whole site. Common practice, no source."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from lifecycle.care import bad_weather
from lifecycle.care.outlook import Ground, SiteEvent, Weather
from lifecycle.care.plan import plan
from lifecycle.care.steps import Step, Window
from lifecycle.life.fold import Fact
from lifecycle.life.kinds import Kind
from lifecycle.life.phases import Phase
from tests.care.summers import OUT, outlook_of, young
from tests.care.winters import TYPED, edges, inside, out
from tests.life.facts import fact, life_of, standing

TODAY = date(2026, 7, 1)
ONE = timedelta(1)


def heat(began: date, ended: date | None = None) -> SiteEvent:
    return SiteEvent(Weather.HEAT, began, ended)


def hail(day: date) -> SiteEvent:
    return SiteEvent(Weather.HAIL, day, day)


def flood(began: date, ended: date | None = None) -> SiteEvent:
    return SiteEvent(Weather.FLOOD, began, ended)


def step(kind: str, opens: date = TODAY, anchor: str = "a day") -> Step:
    window = Window(opens, opens + timedelta(1), opens + timedelta(2))
    return Step(kind, 2026, 1, window, OUT, anchor, "The reason.", "practice")


def moved(
    *events: SiteEvent,
    kind: str = "feed",
    facts: list[Fact] | None = None,
    opens: date = TODAY,
    anchor: str = "a day",
) -> Step:
    outlook = outlook_of(TODAY, events=events)
    [found] = bad_weather.changed([step(kind, opens, anchor)], life_of(facts or young()), outlook)
    return found


def until(found: Step) -> date | None:
    """The day a step is held to, or None when it is as it was."""
    return found.window.earliest if found.reason.startswith("Held") else None


# What is put off


@pytest.mark.parametrize(
    ("kind", "why"),
    [
        ("plant_out", "heat since {2026-06-28}: roots just set cannot supply the leaves."),
        ("replant", "heat since {2026-06-28}: roots just set cannot supply the leaves."),
        ("first_feed", "heat since {2026-06-28}: feed burns dry roots."),
        ("feed", "heat since {2026-06-28}: feed burns dry roots."),
        ("cut_back", "heat since {2026-06-28}: cut plants scald."),
    ],
)
def test_heat_puts_off_planting_feeding_and_cutting(kind: str, why: str) -> None:
    found = moved(heat(date(2026, 6, 28), date(2026, 7, 5)), kind=kind)
    assert edges(found) == ("07-06", "07-06", "07-06")
    assert found.reason == f"Held to {{2026-07-06}}, {why} The reason."


@pytest.mark.parametrize("kind", ["lift", "harvest", "heat_water", "winter_check"])
def test_heat_puts_nothing_else_off(kind: str) -> None:
    assert moved(heat(TODAY), kind=kind) == step(kind)


def test_a_heat_that_nobody_ended_is_looked_at_again_by_the_week() -> None:
    for days, wait in ((0, 7), (6, 1), (7, 7), (13, 1), (14, 7)):
        assert until(moved(heat(TODAY - timedelta(days)))) == TODAY + timedelta(wait)


def test_an_ended_heat_holds_nothing() -> None:
    assert until(moved(heat(date(2026, 6, 20), TODAY))) == TODAY + ONE
    for opens in (TODAY, TODAY - timedelta(3)):
        over = moved(heat(date(2026, 6, 20), TODAY - ONE), opens=opens)
        assert over == step("feed", opens)


def test_what_opens_after_it_is_left_alone() -> None:
    event = heat(TODAY, TODAY + timedelta(4))
    assert until(moved(event, opens=TODAY + timedelta(4))) == TODAY + timedelta(5)
    later = TODAY + timedelta(5)
    assert moved(event, opens=later) == step("feed", later)


def test_only_the_part_of_a_window_that_lies_in_it_moves() -> None:
    found = moved(heat(TODAY, TODAY))
    assert edges(found) == ("07-02", "07-02", "07-03")


def test_weather_to_come_changes_nothing() -> None:
    assert moved(heat(TODAY + ONE)) == step("feed")
    assert until(moved(heat(TODAY))) is not None


def test_a_plant_cut_indoors_does_not_scald() -> None:
    assert moved(heat(TODAY), kind="cut_back", anchor="lifting").reason == "The reason."
    assert until(moved(heat(TODAY), kind="cut_back", anchor="the crop")) is not None


def test_hail_puts_feeding_off_for_a_week() -> None:
    found = moved(hail(TODAY))
    assert until(found) == TODAY + timedelta(7)
    assert (
        found.reason == "Held to {2026-07-08}, hail on {2026-07-01}: it recovers first. The reason."
    )
    assert until(moved(hail(TODAY - timedelta(6)))) == TODAY + ONE
    assert moved(hail(TODAY - timedelta(7))) == step("feed")
    for kind in ("plant_out", "cut_back", "heat_water"):
        assert moved(hail(TODAY), kind=kind) == step(kind)


@pytest.mark.parametrize(
    ("kind", "days", "why"),
    [
        ("replant", 3, "flood since {2026-06-30}: the soil drains first."),
        ("heat_water", 3, "flood since {2026-06-30}: no water until the soil has drained."),
        ("feed", 14, "flood since {2026-06-30}: roots need air and new growth first."),
    ],
)
def test_a_flood_puts_off_planting_water_and_feed(kind: str, days: int, why: str) -> None:
    ended = date(2026, 7, 2)
    found = moved(flood(date(2026, 6, 30), ended), kind=kind)
    assert until(found) == ended + timedelta(days)
    assert found.reason == f"Held to {{{ended + timedelta(days)}}}, {why} The reason."
    # While it lasts: from the end of the week.
    lasting = moved(flood(date(2026, 6, 30)), kind=kind)
    assert until(lasting) == date(2026, 7, 6) + timedelta(days)
    assert moved(flood(TODAY), kind="cut_back") == step("cut_back")


def test_the_longest_hold_counts() -> None:
    ended = date(2026, 7, 1)
    for events in ((hail(TODAY), flood(TODAY, ended)), (flood(TODAY, ended), hail(TODAY))):
        found = moved(*events)
        assert until(found) == date(2026, 7, 15)
        assert found.reason.count("Held") == 1
        assert "flood" in found.reason


def test_under_a_roof_only_planting_is_held() -> None:
    for kind in ("plant_out", "replant"):
        assert until(moved(heat(TODAY), kind=kind, facts=young(out=None))) is not None
    for kind in ("feed", "cut_back"):
        assert moved(heat(TODAY), kind=kind, facts=young(out=None)) == step(kind)
        assert moved(heat(TODAY), kind=kind, facts=inside()) == step(kind)


def test_without_weather_the_steps_are_the_same() -> None:
    steps = [step("feed"), step("lift")]
    assert bad_weather.changed(steps, life_of(young()), outlook_of(TODAY)) is steps


# What it calls for


def called(*events: SiteEvent, facts: list[Fact] | None = None, **more) -> list[Step]:
    outlook = outlook_of(more.pop("today", TODAY), events=events, **more)
    return bad_weather.after(life_of(facts or young()), outlook)


def test_water_deeply_in_the_heat() -> None:
    [water] = called(heat(date(2026, 6, 28)))
    assert (water.kind, water.growing_year, water.number) == ("heat_water", 2026, 1)
    assert edges(water) == ("06-28", "06-28", "06-29")
    assert water.counts_from == date(2026, 6, 28)
    assert (water.anchor, water.source) == ("the heat", "practice")
    assert water.reason == (
        "Heat since {2026-06-28}: water deeply at the foot, early in the day, every 2 days, "
        "{25 mm} to {51 mm} a week in all. Leaves that hang at noon and stand again by evening do "
        "not ask for more."
    )


def test_the_next_watering_of_the_heat_counts_from_the_last() -> None:
    began = date(2026, 6, 28)
    for day, number, due in ((began, 2, "06-30"), (TODAY, 2, "07-03")):
        [water] = called(heat(began), facts=out((Kind.WATERED, day)))
        assert (water.number, edges(water)[1]) == (number, due)
        assert water.counts_from == day + ONE
    [water] = called(heat(began), facts=out((Kind.WATERED, began - ONE)))
    assert (water.number, edges(water)[0], water.counts_from) == (2, "06-28", began)
    twice = out((Kind.WATERED, began), (Kind.WATERED, date(2026, 6, 30)))
    assert called(heat(began), facts=twice)[0].number == 3


def test_waterings_are_numbered_through_the_growing_year_of_the_heat() -> None:
    facts = [
        fact(Kind.RAISED, date(2025, 4, 1), inside=True, quantity=1),
        fact(Kind.WATERED, date(2025, 12, 31)),
        fact(Kind.WATERED, date(2026, 1, 1)),
        fact(Kind.PLANTED_OUT, OUT, inside=False),
    ]
    assert called(heat(TODAY), facts=facts)[0].number == 2


def test_a_pot_is_watered_every_day() -> None:
    pot = Ground(in_pot=True)
    [water] = called(heat(date(2026, 6, 28)), facts=out((Kind.WATERED, TODAY)), ground=pot)
    assert edges(water) == ("07-02", "07-02", "07-03")
    assert "early in the day, every day in a pot, {25 mm}" in water.reason


def test_no_more_water_once_the_heat_is_over() -> None:
    assert len(called(heat(date(2026, 6, 20), TODAY))) == 1
    assert called(heat(date(2026, 6, 20), TODAY - ONE)) == []
    assert called(heat(TODAY + ONE)) == []


def test_hail_is_looked_over() -> None:
    [look] = called(hail(date(2026, 6, 29)))
    assert (look.kind, look.growing_year) == ("look_over", 2026)
    assert edges(look) == ("06-29", "06-30", "07-02")
    assert (look.anchor, look.source) == ("the weather", "practice")
    assert look.counts_from == date(2026, 6, 29)
    assert look.reason == (
        "Hail on {2026-06-29}: within 3 days trim torn growth with clean blades and tie up what "
        "broke. Wait for new shoots before calling it dead."
    )


def test_a_flood_is_looked_over_from_its_end() -> None:
    [look] = called(flood(date(2026, 6, 28), date(2026, 6, 30)))
    assert edges(look) == ("06-30", "07-01", "07-03")
    assert look.counts_from == date(2026, 6, 28)
    assert look.reason == (
        "Flood since {2026-06-28}: throw away fruit that the water touched, let the soil drain, "
        "and within 3 days wash silt off the leaves and set it upright."
    )
    [look] = called(flood(date(2026, 6, 28)))
    assert edges(look) == ("06-28", "06-29", "07-01")


def test_every_weather_calls_for_its_own() -> None:
    before_its_time = hail(OUT - ONE)
    kinds = [s.kind for s in called(before_its_time, hail(TODAY), heat(TODAY), flood(TODAY))]
    assert kinds == ["look_over", "heat_water", "look_over"]


def test_looked_over_once_is_enough() -> None:
    day = date(2026, 6, 29)
    assert called(hail(day), facts=out((Kind.LOOKED_OVER, day, "torn"))) == []
    assert len(called(hail(day), facts=out((Kind.LOOKED_OVER, day - ONE, "torn")))) == 1


def test_looks_are_told_apart_by_day_and_weather() -> None:
    first, second = called(hail(date(2026, 6, 29)), flood(date(2026, 6, 29)))
    assert {first.number, second.number} == {359, 360}
    [third] = called(hail(date(2026, 6, 30)))
    assert third.number == 361
    [new_year] = called(hail(date(2026, 1, 1)), facts=standing(Phase.GROWING, inside=False))
    assert new_year.number == 1


def test_the_year_is_the_growing_year_of_the_weather() -> None:
    facts = [fact(Kind.INHERITED, date(2026, 6, 1), inside=False, quantity=1, choice="growing")]
    dates = replace(TYPED, year_starts_in=7)
    for event, year, number in (
        (hail(date(2026, 6, 30)), 2025, 364 * 2 + 1),
        (hail(date(2026, 7, 1)), 2026, 1),
    ):
        [look] = called(event, facts=facts, dates=dates)
        assert (look.growing_year, look.number) == (year, number)
    [water] = called(heat(date(2026, 6, 30)), facts=facts, dates=dates)
    assert water.growing_year == 2025


def test_only_what_stood_in_it() -> None:
    for event in (heat(OUT - timedelta(9), OUT), flood(OUT - timedelta(9), OUT), hail(OUT)):
        assert len(called(event, today=OUT)) == 1
    assert called(hail(OUT - ONE), today=OUT) == []
    assert called(flood(OUT - timedelta(9), OUT - ONE), today=OUT) == []
    # One that lasts is still there.
    assert len(called(flood(OUT - timedelta(9)), today=OUT)) == 1
    assert called(hail(TODAY), facts=young(out=None)) == []
    taken_over = [fact(Kind.INHERITED, OUT, inside=False, quantity=1, choice="growing")]
    assert called(hail(OUT - ONE), facts=taken_over) == []
    assert len(called(hail(OUT), facts=taken_over)) == 1


def test_the_weather_of_a_site_reaches_the_plan() -> None:
    facts, today = young(), date(2026, 6, 17)
    events = (heat(today), hail(today))
    steps = plan(life_of(facts), "annuum", TYPED, today, events=events)
    kinds = {found.kind: found for found in steps}
    assert {"heat_water", "look_over"} <= set(kinds)
    assert kinds["first_feed"].window.earliest == today + timedelta(7)

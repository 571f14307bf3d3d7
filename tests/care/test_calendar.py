"""The year by route at one typed site in zone 5, and what moves its dates.

Typed: last freeze 20 April, first freeze 14 October, nights of 55 F from 25 May and below
50 F from 30 September. Every date below was worked out by hand from the handbook's numbers.
"""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from lifecycle.care.outlook import Ground, Nights
from lifecycle.care.plan import plan
from lifecycle.care.seasons import OVERDUE, season, season_at
from lifecycle.care.site_dates import SiteDates
from lifecycle.care.steps import Step
from lifecycle.life.fold import Fact
from lifecycle.life.kinds import Kind
from lifecycle.life.phases import Phase
from tests.care.sites import half_a_year_on, mirrored, site, typed_site
from tests.life.facts import diary, fact, life_of, standing

TYPED = typed_site()
GROWING = (
    (Kind.RAISED, 4, 10, {"inside": True, "quantity": 1}),
    (Kind.PLANTED_OUT, 5, 25, {"inside": False}),
)
RESTING = (
    *GROWING,
    (Kind.LIFTED, 9, 30),
    (Kind.CUT_BACK, 9, 30),
    (Kind.WINTER_QUARTERS, 10, 1, {"inside": True, "choice": "resting"}),
)


def calendar(
    facts: list[Fact], today: date, dates: SiteDates = TYPED, subject: str = "plant", **more
) -> dict[str, Step]:
    """The next step of each kind."""
    steps: dict[str, Step] = {}
    for step in plan(life_of(facts, subject), "annuum", dates, today, **more):
        steps.setdefault(step.kind, step)
    return steps


def windows(steps: dict[str, Step], *kinds: str) -> list[tuple[str, str, str]]:
    found = []
    for kind in kinds:
        window = steps[kind].window
        found.append(tuple(f"{day:%m-%d}" for day in (window.earliest, window.best, window.latest)))
    return found


def test_a_planned_sowing() -> None:
    # 10 to 8 weeks before 25 May.
    steps = calendar([fact(Kind.PLANNED, date(2026, 1, 5))], date(2026, 1, 5), subject="sowing")
    assert windows(steps, "sow") == [("03-16", "03-23", "03-30")]


def test_a_sowing_in_the_tray() -> None:
    sown = [fact(Kind.SOWN, date(2026, 3, 23), quantity=20)]
    # 13 days at 68 F; looked for from three quarters of that, overdue after twice.
    steps = calendar(sown, date(2026, 3, 23), subject="sowing", ground=Ground(temperature_c=20.0))
    assert windows(steps, "emergence") == [("04-01", "04-05", "04-18")]
    up = [*sown, fact(Kind.EMERGED, date(2026, 4, 6), quantity=12)]
    steps = calendar(up, date(2026, 4, 6), subject="sowing")
    assert windows(steps, "pot_up") == [("04-16", "04-20", "04-27")]
    potted = [*up, fact(Kind.POTTED_UP, date(2026, 4, 20), quantity=12)]
    assert calendar(potted, date(2026, 4, 21), subject="sowing") == {}


def test_a_cold_bench_is_told_and_waited_for() -> None:
    sown = [fact(Kind.SOWN, date(2026, 3, 1), quantity=20)]
    step = calendar(sown, date(2026, 3, 1), subject="sowing", ground=Ground(temperature_c=8.0))[
        "emergence"
    ]
    assert "No pepper comes up at {8.00 C}" in step.reason
    assert step.window.best == date(2026, 3, 26)  # 25 days, the coldest bench that works


def test_a_seedling_until_its_first_feed() -> None:
    steps = calendar(diary(GROWING[0]), date(2026, 4, 10))
    assert windows(steps, "harden", "plant_out") == [
        ("04-27", "05-11", "05-18"),
        ("05-11", "05-25", "06-15"),
    ]
    # What comes after planting waits for it.
    assert {steps[kind].waits_for for kind in ("first_feed", "review", "lift")} == {"plant_out"}


def test_the_summer_and_the_lifting() -> None:
    steps = calendar(diary(*GROWING), date(2026, 5, 26))
    assert windows(steps, "first_feed", "review", "pest_check", "lift") == [
        ("06-15", "06-18", "06-22"),
        ("08-13", "08-28", "09-13"),
        ("08-30", "09-13", "09-24"),
        # To 21 days after the best day, but the day before one year in ten has a freeze (28th).
        ("09-13", "09-27", "09-27"),
    ]


def test_lifted_and_resting_through_the_winter() -> None:
    lifted = diary(*RESTING[:3])
    steps = calendar(lifted, date(2026, 9, 30))
    assert windows(steps, "cut_back", "winter_quarters") == [
        ("10-07", "10-14", "10-28"),
        ("09-30", "09-30", "09-30"),
    ]
    steps = calendar(diary(*RESTING), date(2026, 10, 1))
    assert windows(steps, "winter_water", "winter_check", "wake", "harden_again", "replant") == [
        ("10-15", "10-22", "10-25"),
        ("10-08", "10-08", "10-11"),
        ("03-26", "04-10", "04-25"),
        ("04-27", "05-11", "05-18"),
        ("05-11", "05-25", "06-15"),
    ]
    assert steps["cut_back"].growing_year == 2027


def test_growing_on_is_watered_weekly_fed_and_not_woken() -> None:
    facts = diary(
        *GROWING,
        (Kind.FED, 6, 18),
        (Kind.LIFTED, 9, 27),
        (Kind.WINTER_QUARTERS, 9, 27, {"inside": True, "choice": "growing_on"}),
    )
    steps = calendar(facts, date(2026, 9, 28))
    assert windows(steps, "winter_water", "cut_back", "harden_again") == [
        ("10-04", "10-04", "10-07"),
        ("09-27", "09-27", "10-11"),
        ("04-27", "05-11", "05-18"),
    ]
    # Only the winter after next has a waking, and only the next summer a first feed.
    assert steps["wake"].growing_year == 2028
    assert steps["first_feed"].growing_year == 2027
    assert (steps["feed"].growing_year, steps["feed"].number) == (2026, 2)


def test_in_the_ground_is_never_cut_before_the_frosts_are_over() -> None:
    facts = diary(*GROWING, (Kind.REVIEWED, 9, 1, {"choice": "in_ground"}))
    for day in range(0, 330, 5):
        cut = calendar(facts, date(2026, 9, 2) + timedelta(day)).get("cut_back")
        if cut is not None and cut.waits_for == "":
            # The middle last freeze is 20 April, one year in ten 6 May.
            assert cut.window.earliest >= date(2027, 4, 20)
            assert cut.window.best == date(2027, 5, 6)
    assert "lift" not in calendar(facts, date(2026, 9, 20))


def test_where_no_frost_comes_it_is_cut_after_the_crop() -> None:
    facts = diary((Kind.RAISED, 4, 10, {"inside": True, "quantity": 1}), GROWING[1])
    cut = calendar(facts, date(2026, 8, 1), site("all year warm"))["cut_back"]
    assert "{20 cm} to {24 cm}" in cut.reason
    assert cut.number == 1
    # Planting out falls best on 20 May here: eight months on.
    assert cut.window.best == date(2027, 1, 15)


@pytest.mark.parametrize("name", ["all year warm", "all year mild"])
def test_nothing_is_lifted_where_nights_are_mild_all_year(name: str) -> None:
    dates = site(name)
    day = date(2026, 5, 25)
    for _ in range(80):
        assert "lift" not in calendar(diary(*GROWING), day, dates)
        day += timedelta(9)


def test_a_year_holds_two_cuts_under_two_numbers() -> None:
    # In the ground last winter, and lifted this autumn unless decided otherwise.
    facts = [fact(Kind.INHERITED, date(2025, 6, 1), inside=False, quantity=1, choice="growing")]
    cuts = [
        s for s in plan(life_of(facts), "annuum", TYPED, date(2026, 5, 1)) if s.kind == "cut_back"
    ]
    assert {(cut.growing_year, cut.number) for cut in cuts} == {(2026, 1), (2026, 2)}


@pytest.mark.parametrize("late", [0, 5, 19, 40])
def test_what_follows_planting_out_moves_with_it(late: int) -> None:
    out = date(2026, 5, 25) + timedelta(late)
    facts = [
        fact(Kind.RAISED, date(2026, 4, 10), inside=True, quantity=1),
        fact(Kind.PLANTED_OUT, out, inside=False),
    ]
    steps = calendar(facts, out)
    assert steps["first_feed"].window.best == out + timedelta(24)
    assert steps["feed"].window.best == out + timedelta(45)
    fed = [*facts, fact(Kind.FED, out + timedelta(26))]
    assert calendar(fed, out + timedelta(26))["feed"].window.best == out + timedelta(47)


def test_no_feed_is_owed_after_the_last_day_to_feed() -> None:
    facts = diary(*GROWING)
    lift = season(TYPED, 2026).lift
    assert lift is not None
    last = lift.best - timedelta(21)
    assert "feed" in calendar([*facts, fact(Kind.FED, date(2026, 6, 18))], last)
    after = last + timedelta(8)
    assert not {"first_feed", "feed"} & {
        kind for kind, step in calendar(facts, after).items() if step.growing_year == 2026
    }


def test_a_missed_spring_step_stands_for_a_while_and_then_goes_to_next_year() -> None:
    seedling = diary(GROWING[0])
    latest = date(2026, 6, 15)
    kept = calendar(seedling, latest + timedelta(OVERDUE))["plant_out"]
    gone = calendar(seedling, latest + timedelta(OVERDUE + 1))["plant_out"]
    assert kept.window.latest == latest
    assert gone.growing_year == 2027


def test_what_was_never_lifted_is_planned_as_standing_out() -> None:
    facts = diary(*GROWING)
    lift = season(TYPED, 2026).lift
    assert lift is not None
    assert "lift" in calendar(facts, lift.latest + timedelta(OVERDUE))
    after = calendar(facts, lift.latest + timedelta(OVERDUE + 1))
    assert "lift" not in after
    assert after["winter_check"].waits_for == ""


@pytest.mark.parametrize("days", [0, 60, 120, 240])
def test_a_lifted_plant_is_asked_for_until_it_is_in(days: int) -> None:
    steps = calendar(diary(*RESTING[:4]), date(2026, 10, 1) + timedelta(days))
    assert steps["winter_quarters"].waits_for == ""


def test_a_resting_plant_is_woken_before_it_can_go_out() -> None:
    for days in range(0, 400, 7):
        steps = calendar(diary(*RESTING), date(2026, 10, 2) + timedelta(days))
        assert steps["replant"].waits_for == "wake"
        assert steps["wake"].waits_for == ""


def seven(low_c: float, first: date) -> Nights:
    return Nights(first, (15.0,) * 6 + (low_c,))


def test_cold_nights_ahead_hold_the_planting() -> None:
    seedling, today = diary(GROWING[0]), date(2026, 5, 24)
    held = calendar(seedling, today, nights=seven(9.0, today))["plant_out"]
    assert (held.window.earliest, held.window.best) == (date(2026, 5, 31), date(2026, 5, 31))
    assert held.reason.startswith("Hold: the coldest of the seven nights is {9.00 C}")
    allowed = calendar(seedling, today, nights=seven(11.0, today))["plant_out"]
    assert allowed.window.best == date(2026, 5, 25)
    assert "keep a cover at hand" in allowed.reason


def test_warm_nights_early_bring_the_best_day_forward() -> None:
    seedling, today = diary(GROWING[0]), date(2026, 5, 15)
    ready = calendar(seedling, today, nights=seven(13.0, today))["plant_out"]
    assert (ready.window.earliest, ready.window.best) == (date(2026, 5, 11), today)


@pytest.mark.parametrize("age", [-1, 3])
def test_nights_of_another_week_say_nothing(age: int) -> None:
    seedling, today = diary(GROWING[0]), date(2026, 5, 24)
    old = calendar(seedling, today, nights=seven(2.0, today - timedelta(age)))["plant_out"]
    assert old == calendar(seedling, today)["plant_out"]


def test_a_hold_may_push_past_the_end_of_the_window() -> None:
    seedling, today = diary(GROWING[0]), date(2026, 6, 14)
    window = calendar(seedling, today, nights=seven(4.0, today))["plant_out"].window
    assert window.earliest == window.best == window.latest == date(2026, 6, 21)


def test_a_southern_site_mirrors_a_northern_one() -> None:
    north, south = TYPED, mirrored(TYPED)
    assert south.warm_from == (11, 25)
    one, other = season(north, 2026), season(south, 2026)
    for name in ("plant_out", "lift"):
        for edge in ("earliest", "best", "latest"):
            day = getattr(getattr(one, name), edge)
            moved = half_a_year_on((day.month, day.day))
            assert moved is not None
            found = getattr(getattr(other, name), edge)
            assert abs((found - date(found.year, *moved)).days) <= 4
    # Frosts of June to August end a season that began the November before.
    assert other.plant_out.best.year == 2026
    assert other.lift is not None
    assert other.lift.best.year == 2027


@pytest.mark.parametrize("name", ["champion", "brussels", "tunis", "cordoba"])
def test_a_mirrored_record_gives_the_same_steps_half_a_year_on(name: str) -> None:
    dates = site(name)
    day = date(2026, 3, 1) if not dates.southern else date(2026, 9, 1)
    away = date(2026, 9, 1) if not dates.southern else date(2027, 3, 1)

    def kinds(where: SiteDates, began: date) -> list[tuple[str, int, str]]:
        facts = [fact(Kind.RAISED, began, inside=True, quantity=1)]
        steps = calendar(facts, began, where)
        # By name: half a year is not a whole number of days, so near neighbours may change places.
        return sorted((step.kind, step.number, step.waits_for) for step in steps.values())

    assert kinds(dates, day) == kinds(mirrored(dates), away)


@pytest.mark.parametrize("starts_in", range(1, 13))
def test_the_month_a_growing_year_starts_in_only_renames_the_year(starts_in: int) -> None:
    dates = replace(TYPED, year_starts_in=starts_in)
    current = season_at(dates, date(2026, 7, 1))
    assert current.plant_out.best == date(2026, 5, 25)
    assert current.year == (2026 if starts_in <= 5 else 2025)


def test_a_winter_room_is_judged_where_its_temperature_is_known() -> None:
    def check(room_c: float | None) -> str:
        room = Ground(temperature_c=room_c)
        steps = calendar(diary(*RESTING), date(2026, 11, 1), ground=room)
        return steps["winter_check"].reason

    assert "move it somewhere warmer today" in check(8.3)
    assert "right for rest" in check(13.0)
    assert "give light and more water" in check(19.0)
    assert "The room has" not in check(None)


def test_a_planned_sowing_says_how_many_seeds() -> None:
    planned = [fact(Kind.PLANNED, date(2026, 1, 5))]

    def reason(bench_c: float | None) -> str:
        steps = calendar(
            planned, date(2026, 1, 5), subject="sowing", ground=Ground(temperature_c=bench_c)
        )
        return steps["sow"].reason

    assert "At {15.00 C} sow 18 sound seeds for 12 plants." in reason(15.0)
    assert "At {25.00 C} (assumed) sow 13 sound seeds for 12 plants." in reason(None)
    assert "sow" not in reason(2.0)


def test_ended_lives_have_no_plan() -> None:
    assert calendar(standing(Phase.ENDED, inside=False), date(2026, 6, 1)) == {}


def test_a_plant_taken_over_is_replanted_not_planted_out() -> None:
    facts = [
        fact(Kind.INHERITED, date(2026, 1, 5), inside=True, quantity=1, choice="resting"),
        fact(Kind.WOKEN, date(2026, 4, 10)),
        fact(Kind.HARDENING, date(2026, 5, 11)),
    ]
    for end in (1, 2, 3):
        steps = calendar(facts[:end], facts[end - 1].happened_on)
        assert "replant" in steps
        assert "plant_out" not in steps

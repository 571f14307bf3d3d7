"""Crops sown where they stay: sow before or after the last frost, pick, clear.

Weeks from the last frost, coldest soils and days to harvest: Knott 1997, and Cornell for garlic,
from memory. Nitrogen left by a legume picked for its seeds: from memory, small to nil. Spans of
sowing and picking, and clearing a week before the freeze, are common practice, no source.
"""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from lifecycle.care.partners import plan_in_place
from lifecycle.care.plan import plan
from lifecycle.care.raising import plan_sowing
from lifecycle.care.steps import Step
from lifecycle.handbook import CROPS, Crop, Fact
from lifecycle.life.kinds import Kind
from lifecycle.life.phases import PLANT_PHASES, Phase
from tests.care.sites import site, typed_site
from tests.care.summers import outlook_of
from tests.care.summers import window as days_after
from tests.life.facts import fact, life_of, standing

NEW_YEAR, FROST = date(2026, 1, 5), date(2026, 4, 20)
LEGUME = (
    "Cut it off at the soil and leave the roots: picked for its seeds it leaves at most "
    "{2.4 g/m2} of nitrogen."
)
OTHERS = "Clear the bed, and let another family follow."


def sow(crop: Crop | str, today: date = NEW_YEAR, since: date = NEW_YEAR, dates=None) -> Step:
    grown = CROPS[crop] if isinstance(crop, str) else crop
    life = life_of([fact(Kind.PLANNED, since)], "sowing")
    [step] = plan_in_place(life, grown, outlook_of(today, grown.key, dates=dates))
    return step


def timed(value: float, to: float | None = None) -> Crop:
    timing = Fact("made up", value, "weeks", "handbook97", "memory", to=to)
    pea = CROPS["pea"]
    return replace(pea, facts={**pea.facts, "direct_before_freeze": timing})


@pytest.mark.parametrize(
    ("crop", "window", "weeks", "soil"),
    [
        ("pea", ("03-09", "03-16", "03-23"), "4 to 6 weeks before", "4.44"),
        ("bean", ("04-20", "04-27", "05-04"), "0 to 2 weeks after", "15.56"),
        ("lettuce", ("03-23", "03-30", "04-06"), "2 to 4 weeks before", "1.67"),
        ("onion", ("03-09", "03-16", "03-23"), "4 to 6 weeks before", "1.67"),
        ("brassica", ("03-23", "03-30", "04-06"), "2 to 4 weeks before", "4.44"),
        ("carrot", ("03-23", "03-30", "04-06"), "2 to 4 weeks before", "4.44"),
        ("squash", ("04-27", "05-04", "05-11"), "1 to 3 weeks after", "15.56"),
        ("corn", ("04-20", "04-27", "05-04"), "0 to 2 weeks after", "10.00"),
    ],
)
def test_when_each_is_sown(crop: str, window: tuple[str, str, str], weeks: str, soil: str) -> None:
    step = sow(crop)
    found = step.window
    assert tuple(f"{day:%m-%d}" for day in (found.earliest, found.best, found.latest)) == window
    assert step.reason == (
        f"{weeks} the middle last frost, {{2026-04-20}}, once the soil has {{{soil} C}}. Sow where "
        "it stays."
    )
    assert step.identity == ("sow", 2026, 1)
    assert (step.counts_from, step.anchor, step.waits_for) == (NEW_YEAR, "the last frost", "")
    assert (step.source, step.setting) == ("handbook97", "")


def test_garlic_is_set_the_autumn_before() -> None:
    step = sow("garlic", date(2026, 8, 1), date(2026, 8, 1))
    assert step.window.earliest == date(2026, 9, 22)
    assert step.window.best == date(2026, 10, 13)
    assert step.window.latest == date(2026, 11, 3)
    assert step.growing_year == 2027
    assert step.reason == (
        "24 to 30 weeks before the middle last frost, {2027-04-20}. Sow where it stays."
    )
    assert step.source == "cornell"


@pytest.mark.parametrize(
    ("crop", "window", "words"),
    [
        (timed(2), (-28, -14, 0), "2 weeks before the middle"),
        (timed(0), (-14, 0, 14), "About the middle"),
        (timed(-2), (0, 14, 28), "2 weeks after the middle"),
        (timed(-2, 2), (-14, 0, 14), "From 2 weeks before to 2 weeks after the middle"),
        (timed(0, 2), (-14, -7, 0), "0 to 2 weeks before the middle"),
        (timed(-2, 0), (0, 7, 14), "0 to 2 weeks after the middle"),
    ],
)
def test_one_day_or_a_span_before_or_after_the_frost(
    crop: Crop, window: tuple[int, int, int], words: str
) -> None:
    step = sow(crop)
    assert days_after(step, FROST) == window
    assert step.reason.startswith(f"{words} last frost, {{2026-04-20}}, once")


def test_where_no_frost_is_known_spring_stands_in_for_it() -> None:
    # Planting out falls best on 20 May there; three weeks before that.
    step = sow("pea", dates=site("all year warm"))
    assert step.reason.startswith(
        "4 to 6 weeks before spring, for no frost is known here, {2026-04-29}, once the soil"
    )
    assert days_after(step, date(2026, 4, 29)) == (-42, -35, -28)


def test_a_missed_sowing_stands_for_45_days() -> None:
    last = date(2026, 3, 23) + timedelta(45)
    assert sow("pea", last).growing_year == 2026
    assert sow("pea", last + timedelta(1)).growing_year == 2027
    ahead = sow("pea", NEW_YEAR, last + timedelta(1))
    assert (ahead.growing_year, ahead.counts_from) == (2027, last + timedelta(1))


def test_old_seed_is_tested_and_its_share_told() -> None:
    life = life_of([fact(Kind.PLANNED, NEW_YEAR)], "sowing")
    outlook = replace(outlook_of(NEW_YEAR, "bean"), seed_age=4)
    tested, sown = plan_in_place(life, CROPS["bean"], outlook)
    assert (tested.kind, sown.kind) == ("seed_test", "sow")
    assert tested.window.best == date(2026, 3, 23)
    assert sown.reason.endswith("Sow where it stays.")
    outlook = replace(outlook, seed_test=0.8)
    [sown] = plan_in_place(life, CROPS["bean"], outlook)
    assert sown.reason.endswith(
        "Sow where it stays. Sow 15 seeds, of which 80 % sprouted, for 12 plants."
    )


# Up to the harvest

SOWN = date(2026, 3, 16)


def after(
    *more, crop: Crop | str = "pea", today: date = SOWN, sown: date = SOWN, **site_
) -> dict[str, Step]:
    """The steps of a sowing that is up, by kind."""
    grown = CROPS[crop] if isinstance(crop, str) else crop
    facts = [
        fact(Kind.SOWN, sown, quantity=20),
        fact(Kind.EMERGED, sown + timedelta(10), quantity=15),
        *more,
    ]
    outlook = outlook_of(today, grown.key, **site_)
    steps = plan_sowing(life_of(facts, "sowing"), grown, outlook)
    return {step.kind: step for step in steps}


def picked(days: int, sown: date = SOWN):
    return fact(Kind.PICKED, sown + timedelta(days))


def test_seedlings_are_looked_for_and_never_potted_up() -> None:
    life = life_of([fact(Kind.SOWN, SOWN, quantity=20)], "sowing")
    [step] = plan_sowing(life, CROPS["pea"], outlook_of(SOWN, "pea"))
    assert step.identity == ("emergence", 2026, 1)
    assert set(after()) == {"harvest", "clear"}


@pytest.mark.parametrize(
    ("crop", "days", "span", "source"),
    [
        ("pea", (55, 65, 75), "55 to 75 days", "handbook97"),
        ("bean", (50, 57, 65), "50 to 65 days", "handbook97"),
        ("lettuce", (45, 55, 65), "45 to 65 days", "handbook97"),
        ("onion", (90, 120, 150), "90 to 150 days", "handbook97"),
        ("garlic", (240, 255, 270), "240 to 270 days", "cornell"),
        ("brassica", (85, 97, 110), "85 to 110 days", "handbook97"),
        ("carrot", (55, 72, 90), "55 to 90 days", "handbook97"),
        ("squash", (45, 52, 60), "45 to 60 days", "handbook97"),
        ("corn", (65, 80, 95), "65 to 95 days", "handbook97"),
    ],
)
def test_the_first_harvest(crop: str, days: tuple[int, int, int], span: str, source: str) -> None:
    step = after(crop=crop)["harvest"]
    assert days_after(step, SOWN) == days
    assert step.reason == f"{span} after sowing on {{2026-03-16}}."
    assert step.identity == ("harvest", 2026, 1)
    assert (step.counts_from, step.anchor, step.source) == (SOWN, "sowing", source)


def test_a_variety_with_one_maturity() -> None:
    step = after(crop=CROPS["pea"].adapted({"maturity": 60}))["harvest"]
    assert days_after(step, SOWN) == (60, 60, 60)
    assert step.reason == "About 60 days after sowing on {2026-03-16}."
    assert step.source == "garden"


def test_then_every_week_for_four_weeks() -> None:
    step = after(picked(65))["harvest"]
    assert days_after(step, SOWN) == (69, 72, 75)
    assert step.number == 2
    assert step.reason == "Every 7 days while it bears, the last on {2026-05-20}."
    assert after(picked(65), picked(72))["harvest"].number == 3
    assert "harvest" in after(picked(65), picked(86))
    assert "harvest" not in after(picked(65), picked(87))
    over = SOWN + timedelta(65 + 28)
    assert "harvest" in after(picked(65), today=over)
    assert "harvest" not in after(picked(65), today=over + timedelta(1))


def test_what_nobody_picked_is_not_asked_for_for_ever() -> None:
    over = SOWN + timedelta(75 + 28)
    assert "harvest" in after(today=over)
    assert "harvest" not in after(today=over + timedelta(1))


# Clear


def test_a_legume_is_cut_off_and_its_roots_stay() -> None:
    step = after()["clear"]
    assert days_after(step, SOWN) == (103, 103, 117)
    assert step.reason == f"It is picked over about {{2026-06-27}}. {LEGUME}"
    assert step.identity == ("clear", 2026, 1)
    assert (step.counts_from, step.anchor, step.source) == (SOWN, "the harvest", "practice")
    # Four weeks from the first picking, however early or late that was.
    assert days_after(after(picked(50), picked(60))["clear"], SOWN) == (78, 78, 92)


def test_what_a_legume_leaves_is_told_by_its_own_source() -> None:
    left = Fact("made up", 1, "g/m2", "handbook97", "memory", to=3)
    pea = CROPS["pea"]
    step = after(crop=replace(pea, facts={**pea.facts, "nitrogen_left": left}))["clear"]
    assert "at most {3.0 g/m2} of nitrogen" in step.reason
    assert step.source == "handbook97"


@pytest.mark.parametrize("crop", ["lettuce", "onion", "brassica", "carrot", "garlic"])
def test_the_others_are_cleared_for_another_family(crop: str) -> None:
    step = after(crop=crop)["clear"]
    assert step.reason.endswith(OTHERS)
    assert step.source == "practice"


@pytest.mark.parametrize(("crop", "last"), [("bean", LEGUME), ("squash", OTHERS), ("corn", OTHERS)])
def test_what_frost_kills_is_off_a_week_before_it(crop: str, last: str) -> None:
    step = after(crop=crop, sown=date(2026, 8, 1), today=date(2026, 8, 11))["clear"]
    assert step.window.earliest == step.window.best == date(2026, 9, 21)
    assert step.window.latest == date(2026, 10, 5)
    assert step.reason == (
        "Frost kills it, and one year in ten freezes by {2026-09-28}: off by {2026-09-21}. " + last
    )


@pytest.mark.parametrize("crop", ["pea", "lettuce", "carrot", "brassica"])
def test_what_frost_spares_stays(crop: str) -> None:
    step = after(crop=crop, sown=date(2026, 8, 1), today=date(2026, 8, 11))["clear"]
    assert step.window.best > date(2026, 9, 28)
    assert step.reason.startswith("It is picked over about")


def test_whichever_comes_first_ends_it() -> None:
    # Beans are picked over 93 days after sowing.
    on_the_day = after(crop="bean", sown=date(2026, 6, 20))["clear"]
    assert on_the_day.window.best == date(2026, 9, 21)
    assert on_the_day.reason.startswith("It is picked over about {2026-09-21}.")
    a_day_later = after(crop="bean", sown=date(2026, 6, 21))["clear"]
    assert a_day_later.window.best == date(2026, 9, 21)
    assert a_day_later.reason.startswith("Frost kills it")


def test_sown_at_the_frost_or_later_it_is_tender_sooner_it_is_hardy() -> None:
    def reason(value: float) -> str:
        return after(crop=timed(value), sown=date(2026, 8, 1))["clear"].reason

    assert reason(0).startswith("Frost kills it")
    assert reason(0.1).startswith("It is picked over")


def test_where_it_never_freezes_nothing_is_cleared_for_it() -> None:
    late = date(2026, 8, 1)
    step = after(crop="bean", sown=late, today=late, dates=site("all year warm"))["clear"]
    assert step.reason == f"It is picked over about {{2026-11-02}}. {LEGUME}"


def test_a_sowing_belongs_to_the_growing_year_it_began_in() -> None:
    dates = replace(typed_site(), year_starts_in=7)
    steps = after(dates=dates)
    assert {step.growing_year for step in steps.values()} == {2025}


@pytest.mark.parametrize("crop", ["garlic", "onion", "carrot"])
def test_what_is_taken_up_whole_is_harvested_once_and_cleared(crop: str) -> None:
    """Common practice, no source."""
    taken = picked(100)
    steps = after(taken, crop=crop, today=SOWN + timedelta(101))
    assert set(steps) == {"clear"}
    assert steps["clear"].window.best == taken.happened_on


def test_a_pea_is_picked_again() -> None:
    assert "harvest" in after(picked(60), today=SOWN + timedelta(61))


@pytest.mark.parametrize("crop", [key for key, crop in CROPS.items() if crop.group == "partner"])
@pytest.mark.parametrize("phase", PLANT_PHASES)
@pytest.mark.parametrize("inside", [True, False])
def test_a_partner_taken_over_as_a_plant_gets_nothing_that_peppers_get(
    crop: str, phase: Phase, inside: bool
) -> None:
    life = life_of(standing(phase, inside=inside))
    for days in (1, 120, 260):
        assert plan(life, crop, typed_site(), date(2026, 1, 1) + timedelta(days)) == []

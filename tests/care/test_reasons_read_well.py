"""Every reason that a plan gives is whole sentences, whatever the crop, the site and the life.

So is what pages say beside the steps: of seed, feeds, beds, symptoms and settings. The plans are a
fixed sweep: every crop at every site, every phase inside, outside and lifted, every choice of every
setting, bad weather, doubts, damage, symptoms, beds, rooms, old seed and cold nights.
"""

import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from functools import cache
from itertools import cycle

import pytest

from lifecycle.agronomy.nutrients import Analysis
from lifecycle.care.bed import Standing
from lifecycle.care.bed_room import single_stem_remark
from lifecycle.care.bed_rotation import FamilyYear, clash, nitrogen_left
from lifecycle.care.bed_rules import BedRules
from lifecycle.care.catalogue import STEP_RULES
from lifecycle.care.feeding import FedPlant, Feed, warnings
from lifecycle.care.outlook import Ground, Nights, SiteEvent, Weather
from lifecycle.care.plan import plan
from lifecycle.care.policy import DEFAULTS, SETTINGS, policy_of
from lifecycle.care.seed_advice import SeedTest, lot_advice
from lifecycle.care.steps import Step
from lifecycle.care.wording import in_units
from lifecycle.handbook import CROPS, MATERIALS, SOURCES, SYMPTOMS
from lifecycle.life.fold import Fact, Life, why_not
from lifecycle.life.kinds import RULES, Kind
from lifecycle.life.phases import OUTSIDE, PLANT_PHASES, Phase
from tests.care.sites import INVENTED, REAL, mirrored, site
from tests.care.summers import OUT, kept, stood_out, young
from tests.care.winters import inside, lifted, woken
from tests.life.facts import fact, life_of, standing

MOST_WORDS = 90
"""Of one reason, its dates written out."""

TYPED = site("typed")
SPRING, SUMMER, AUTUMN = date(2026, 4, 20), date(2026, 6, 20), date(2026, 9, 10)
SITES = {name: site(name) for name in (*REAL, *INVENTED)} | {"mirrored": mirrored(TYPED)}


def grew_on() -> list[Fact]:
    return inside("growing_on")


PLANTS: dict[str, tuple[list[Fact], date]] = {
    "in its pot": (young(out=None), SPRING),
    "a pair, set out": (young(count=2), OUT),
    "set out": (young(), SUMMER),
    "replanted": (kept(), SUMMER),
    "stood out": (stood_out(), date(2026, 5, 12)),
    "bearing": ([*young(), fact(Kind.PICKED, date(2026, 7, 30))], AUTUMN),
    "lifted": (lifted(), date(2026, 9, 27)),
    "resting": (inside(), date(2026, 11, 1)),
    "growing on": (grew_on(), date(2026, 11, 1)),
    "woken": (woken(), date(2027, 4, 20)),
}
SOWINGS: dict[str, tuple[list[Fact], date]] = {
    "planned": ([fact(Kind.PLANNED, date(2026, 1, 5))], date(2026, 1, 5)),
    "sown": ([fact(Kind.SOWN, date(2026, 3, 23), quantity=20)], date(2026, 3, 24)),
    "up": (
        [
            fact(Kind.SOWN, date(2026, 3, 23), quantity=20),
            fact(Kind.EMERGED, date(2026, 4, 5), quantity=12),
        ],
        date(2026, 4, 6),
    ),
    "picked": (
        [
            fact(Kind.SOWN, date(2026, 4, 20), quantity=20),
            fact(Kind.EMERGED, date(2026, 5, 1), quantity=12),
            fact(Kind.PICKED, date(2026, 6, 20)),
        ],
        date(2026, 6, 21),
    ),
}
CROPS_THAT_GO_OUT = ("annuum", "tomato_determinate", "tomato_indeterminate", "eggplant")


def lives() -> Iterator[tuple[Life, date]]:
    for facts, today in PLANTS.values():
        yield life_of(facts), today
    for facts, today in SOWINGS.values():
        yield life_of(facts, "sowing"), today


def every_crop_at_every_site() -> Iterator[Step]:
    days = cycle((0, 10, 75, 140, 220))
    for dates in SITES.values():
        for crop in CROPS:
            for life, today in lives():
                for _ in range(2):
                    yield from plan(life, crop, dates, today + timedelta(next(days)))


def every_phase() -> Iterator[Step]:
    crops, days = cycle(CROPS_THAT_GO_OUT), cycle((1, 100, 160, 280))
    for dates in (TYPED, site("tunis"), site("cordoba")):
        for phase in PLANT_PHASES:
            for roof in (True, False):
                facts = standing(phase, inside=roof)
                for _ in range(2):
                    today = date(2026, 1, 1) + timedelta(next(days))
                    yield from plan(life_of(facts), next(crops), dates, today)
            if phase in OUTSIDE or phase in (Phase.RESTING, Phase.WAKING):
                facts = [*standing(phase, inside=False), fact(Kind.LIFTED, date(2026, 9, 20))]
                yield from plan(life_of(facts), next(crops), dates, date(2026, 9, 21))


def every_choice() -> Iterator[Step]:
    for setting in SETTINGS.values():
        for choice in setting.choices:
            dates = replace(TYPED, policy=policy_of({setting.key: choice.value}))
            southern = replace(site("cordoba"), policy=dates.policy)
            for life, today in lives():
                yield from plan(life, "annuum", dates, today)
            facts, today = PLANTS["set out"]
            yield from plan(life_of(facts), "annuum", southern, today)
            yield from plan(life_of(facts), "tomato_cherry", dates, today)


def what_was_seen() -> Iterator[Step]:
    """Whatever may be chosen in an entry: damage, symptoms, doubts, decisions, supports."""
    crops = cycle(CROPS_THAT_GO_OUT)
    for rule in RULES.values():
        if rule.subject != "plant" or rule.begins or rule.needs_place or rule.kind is Kind.SPLIT:
            continue
        for choice in rule.choices or ("",):
            for name in ("in its pot", "set out", "stood out", "bearing"):
                facts, today = PLANTS[name]
                if why_not(life_of(facts), rule, choice) is not None:
                    continue
                noted = [*facts, fact(rule.kind, today, choice=choice)]
                yield from plan(life_of(noted), next(crops), TYPED, today + timedelta(1))
    facts, today = PLANTS["bearing"]
    for choice in RULES[Kind.REVIEWED].choices:
        decided = life_of([*facts, fact(Kind.REVIEWED, today, choice=choice)])
        yield from plan(decided, "annuum", TYPED, today + timedelta(1))
    for why in RULES[Kind.IN_DOUBT].choices:
        doubted = [*young(), fact(Kind.IN_DOUBT, OUT, choice=why)]
        settled = [*doubted, fact(Kind.SETTLED, SUMMER, choice="fruit")]
        yield from plan(life_of(settled), "annuum", TYPED, SUMMER)
        yield from plan(life_of([*doubted, fact(Kind.PICKED, SUMMER)]), "annuum", TYPED, SUMMER)


GROUNDS = (
    Ground(in_pot=True),
    Ground(depth_cm=15.24, wire=True),
    Ground(depth_cm=40.0, wire=True),
    Ground(temperature_c=8.0, bright=True),
    Ground(temperature_c=13.0),
    Ground(temperature_c=16.0),
    Ground(temperature_c=26.0),
    Ground(temperature_c=42.0),
)


def weather_and_ground() -> Iterator[Step]:
    grounds = cycle((Ground(), *GROUNDS))
    for facts, today in PLANTS.values():
        for weather in Weather:
            for ended in (None, today - timedelta(1)):
                event = SiteEvent(weather, today - timedelta(3), ended)
                later = today + timedelta(1)
                for crop in ("annuum", "tomato_indeterminate"):
                    yield from plan(
                        life_of(facts), crop, TYPED, later, events=(event,), ground=next(grounds)
                    )
        for ground in GROUNDS:
            yield from plan(life_of(facts), "annuum", TYPED, today, ground=ground)
            yield from plan(life_of(facts), "tomato_semi", site("tunis"), today, ground=ground)
    for lows in (16.0, 11.0, 4.0, -2.0):
        for crop in CROPS_THAT_GO_OUT:
            nights = Nights(date(2026, 5, 18), (lows,) * 7)
            yield from plan(life_of(young(out=None)), crop, TYPED, nights.first, nights=nights)


def seed_and_bench() -> Iterator[Step]:
    for crop in CROPS:
        for facts, today in SOWINGS.values():
            for ground in (Ground(), *GROUNDS[3:]):
                yield from plan(life_of(facts, "sowing"), crop, TYPED, today, ground=ground)
        facts, today = SOWINGS["planned"]
        for age, tested in ((1, None), (3, None), (9, None), (9, 0.0), (9, 0.04), (9, 0.85)):
            yield from plan(
                life_of(facts, "sowing"), crop, TYPED, today, seed_age=age, seed_test=tested
            )


def beds_with_rules() -> Iterator[Step]:
    crops = cycle(CROPS_THAT_GO_OUT)
    for rules in (
        BedRules((9, 20)), BedRules((6, 30), plots_kept=False), BedRules(None, False, False),
    ):  # fmt: skip
        for dates in (TYPED, site("tunis"), site("all year warm")):
            for facts, today in PLANTS.values():
                decided = [*facts, fact(Kind.REVIEWED, today, choice="in_ground")]
                for each in (facts, decided):
                    for crop in ("annuum", next(crops)):
                        yield from plan(
                            life_of(each), crop, dates, today, ground=Ground(rules=rules)
                        )
        for facts, today in SOWINGS.values():
            yield from plan(
                life_of(facts, "sowing"), "bean", TYPED, today, ground=Ground(rules=rules)
            )


SWEEPS = (
    every_crop_at_every_site, every_phase, every_choice, what_was_seen, weather_and_ground,
    seed_and_bench, beds_with_rules,
)  # fmt: skip


@cache
def steps() -> frozenset[Step]:
    return frozenset(step for sweep in SWEEPS for step in sweep())


def remarks() -> Iterator[str]:
    """What pages say beside the steps: of seed, feeds, beds and symptoms."""
    for crop in CROPS.values():
        yield from (
            lot_advice(crop, 2020, None, year, DEFAULTS).sentence for year in range(2020, 29)
        )
        yield lot_advice(crop, None, None, 2026, DEFAULTS).sentence
        for sprouted, counts in ((3, True), (12, True), (20, True), (15, False)):
            test = SeedTest(sprouted, 20, date(2026, 2, 1), counts)
            yield lot_advice(crop, 2020, test, 2026, DEFAULTS).sentence
    beans = [FamilyYear(2025, "fabaceae", ("bean",)), FamilyYear(2025, "solanaceae")]
    left = nitrogen_left(beans, 2026)
    for material in MATERIALS.values():
        analysis = Analysis(material.n, material.p2o5, material.k2o)
        just_out = FedPlant(CROPS["annuum"], date(2026, 6, 1))
        feed = Feed(material.key, material.label, analysis, magnesium=material.magnesium)
        yield from warnings([feed], [just_out], left, date(2026, 6, 8))
    for choice in SETTINGS["perennial_bed"].choices:
        policy = policy_of({"perennial_bed": choice.value})
        yield clash([CROPS["annuum"]], beans, 2026, policy)
    yield single_stem_remark([Standing(CROPS["tomato_indeterminate"], OUT)], DEFAULTS)
    for symptom in SYMPTOMS.values():
        yield from (words for cause in symptom.causes for words in (cause.why, cause.remedy))
        if symptom.look:
            yield symptom.look
    yield from (setting.effect for setting in SETTINGS.values())


@cache
def reasons() -> frozenset[str]:
    return frozenset({*(step.reason for step in steps()), *remarks()})


def sentences(text: str) -> list[str]:
    return re.split(r"(?<=[.!?]) ", text)


def wrong(pattern: str) -> list[str]:
    return sorted(reason for reason in reasons() if re.search(pattern, reason))


def test_the_sweep_reaches_every_kind_of_step_and_every_setting_that_moves_one() -> None:
    assert {step.kind for step in steps()} == set(STEP_RULES)
    # A cutback names the setting of its time; what may follow in a bed is told by the bed's page,
    # and what calls a frost night by that night's page.
    elsewhere = {"cut_height", "rotation_gap", "perennial_bed", "frost_kill", "frost_harm"}
    assert {step.setting for step in steps()} >= set(SETTINGS) - elsewhere


def test_a_reason_is_whole_sentences() -> None:
    for reason in reasons():
        for sentence in sentences(reason):
            assert re.match(r"[A-Z0-9{]", sentence), reason
        assert re.search(r"[a-z0-9%})”][.?]$", reason), reason
    assert not [step for step in steps() if step.reason.endswith("?")]


@pytest.mark.parametrize(
    "slip",
    [
        "  ", r"^ | $", r"\b[A-Z]{4,}\b", "None", r"\bnan\b", r"\.\.", r" [,.;:]", r",[^ ]", "!",
        r"[a-z]\.[A-Z]",
    ],
)  # fmt: skip
def test_no_slips_of_the_pen(slip: str) -> None:
    assert wrong(slip) == []


@pytest.mark.parametrize("temperature", ["C", "F"])
@pytest.mark.parametrize("length", ["cm", "in"])
def test_every_number_is_written_out_in_either_unit(temperature: str, length: str) -> None:
    for reason in reasons():
        assert reason.count("{") == reason.count("}"), reason
        assert not re.search(r"[{}]", in_units(reason, temperature, length)), reason


def test_a_step_names_what_the_house_knows() -> None:
    titles = set(SOURCES.values())
    for step in steps():
        assert step.source in titles, step
        assert step.setting in {"", *SETTINGS}, step
        assert step.waits_for in {"", *STEP_RULES}, step
        assert step.anchor, step
        assert step.window.earliest <= step.window.best <= step.window.latest, step


def test_nobody_reads_a_page_at_dusk() -> None:
    written = (in_units(reason, "F", "in") for reason in reasons())
    longest = max(written, key=lambda reason: len(reason.split()))
    assert len(longest.split()) <= MOST_WORDS, longest

"""Materials, soils, covers, cautions and symptoms: whole, sourced, and possible."""

from typing import Any

import pytest

from lifecycle.agronomy.nutrients import Analysis
from lifecycle.care.catalogue import STEP_RULES
from lifecycle.handbook import CAUTIONS, CROPS, MATERIALS, PROTECTIONS, SOILS, SOURCES, SYMPTOMS
from lifecycle.handbook.facts import MARKS
from lifecycle.handbook.loader import CAUTION_ROWS
from lifecycle.handbook.symptoms import made_symptoms
from lifecycle.handbook.tables import Material, made_protections, made_rows
from lifecycle.life.kinds import RULES, Kind


@pytest.mark.parametrize("key", sorted(MATERIALS))
def test_a_material_has_an_analysis_that_can_be(key: str) -> None:
    material = MATERIALS[key]
    Analysis(material.n, material.p2o5, material.k2o)
    for low, high in (
        (material.n, material.n_to),
        (material.p2o5, material.p2o5_to),
        (material.k2o, material.k2o_to),
    ):
        assert high is None or high > low
    assert material.form in ("dry", "liquid")
    assert len(key) <= 24


def test_published_analyses() -> None:
    def numbers(key: str) -> tuple[float, float, float]:
        return MATERIALS[key].n, MATERIALS[key].p2o5, MATERIALS[key].k2o

    assert numbers("grade_2_4_2") == (2, 4, 2)
    assert numbers("bone_meal") == (2, 27, 0)
    assert numbers("kelp") == (1, 0.5, 9)
    assert numbers("blood_meal") == (10, 1.5, 0)
    assert MATERIALS["blood_meal"].n_to == 12
    assert numbers("epsom") == (0, 0, 0)
    assert "no cure for blossom-end rot" in MATERIALS["epsom"].note


def test_soils_hold_more_than_they_keep_back() -> None:
    assert (SOILS["loamy_sand"].fc, SOILS["loamy_sand"].wp) == (0.15, 0.06)
    for soil in SOILS.values():
        assert 0 < soil.wp < soil.fc < 0.5


def test_the_low_end_of_a_cover_is_the_one_to_count_on() -> None:
    light = PROTECTIONS["cover_light"]
    assert light.gain is not None
    assert light.gain.si == pytest.approx(2 / 1.8)
    assert light.sure_c == pytest.approx(1.0)  # FAO, thin spun covers
    assert PROTECTIONS["cover_medium"].sure_c == pytest.approx(5 / 1.8)
    assert PROTECTIONS["cover_heavy"].sure_c == pytest.approx(4 / 1.8)
    assert PROTECTIONS["mulch"].gain is None
    assert PROTECTIONS["mulch"].sure_c == 0
    for each in PROTECTIONS.values():
        assert set(each.cautions) <= set(CAUTIONS)
        assert 0 <= each.sure_c < 8


def test_what_can_hurt_is_warned_of() -> None:
    assert {
        "capsaicin", "pesticide", "soap", "heat", "lights", "lamps", "ladder", "leaves", "lead",
        "manure", "flood", "preserve", "pickle", "virus", "tools",
    } <= set(CAUTIONS)  # fmt: skip
    assert "1-800-222-1222" in CAUTIONS["capsaicin"]
    assert "888-426-4435" in CAUTIONS["leaves"]
    assert "120 days" in CAUTIONS["manure"]
    assert "hands is not enough" in CAUTIONS["virus"]
    for row in CAUTION_ROWS.values():
        assert row.source in SOURCES
        assert row.mark in MARKS


@pytest.mark.parametrize("key", sorted(SYMPTOMS))
def test_a_symptom_has_causes_in_order_and_each_its_source(key: str) -> None:
    symptom = SYMPTOMS[key]
    assert len(key) <= 16
    assert symptom.causes
    assert set(symptom.groups) <= {crop.group for crop in CROPS.values()}
    keys = [cause.key for cause in symptom.causes]
    assert len(keys) == len(set(keys))
    for cause in symptom.causes:
        assert cause.why.endswith(".")
        assert cause.remedy.endswith(".")
        assert not cause.step or cause.step in STEP_RULES


def test_what_the_years_bring_has_a_symptom() -> None:
    assert SYMPTOMS["purple_veins"].causes[0].step == "first_feed"
    assert "Plant out and feed" in SYMPTOMS["purple_veins"].causes[0].remedy
    assert SYMPTOMS["sunscald"].causes[0].step == "shade"
    assert "Magnesium salts are no cure" in SYMPTOMS["blossom_end_rot"].causes[0].remedy
    assert SYMPTOMS["mosaic"].discard
    assert SYMPTOMS["mosaic"].causes[0].discard
    assert not SYMPTOMS["leaf_drop"].discard
    assert "Wait" in SYMPTOMS["black_leaves"].causes[0].remedy


def test_a_symptom_can_be_logged_or_something_else() -> None:
    choices = RULES[Kind.SYMPTOM].choices
    assert list(choices) == [*SYMPTOMS, "other"]
    assert choices["mosaic"] == SYMPTOMS["mosaic"].label


CAUSE = {"key": "x", "label": "X", "why": "Y.", "remedy": "Z.", "source": "umn", "mark": "found"}


def test_a_row_without_a_listed_source_is_refused() -> None:
    rows: dict[str, Any] = {
        "ash": {"label": "Ash", "n": 0, "p2o5": 2, "k2o": 6, "form": "dry", "source": "moon",
                "mark": "found"}
    }  # fmt: skip
    with pytest.raises(ValueError, match="Handbook, ash: the source “moon” is not listed"):
        made_rows(Material, rows, SOURCES)
    symptom = {"label": "S", "groups": ["pepper"], "cause": [{**CAUSE, "mark": "heard"}]}
    with pytest.raises(ValueError, match=r"^Handbook, s\.x: there is no mark “heard”"):
        made_symptoms({"s": symptom}, SOURCES)
    gain = {"value": 2, "unit": "dF", "source": "moon", "mark": "found"}
    with pytest.raises(ValueError, match="the source “moon” is not listed"):
        made_protections({"tent": {"label": "Tent", "gain": gain}}, SOURCES)

"""Stages of direct-seeded New Mexico type chile by heat units, 86/55 F, since seeding.

Soto-Ortiz & Silvertooth, general chile model, University of Arizona (studylib.net/doc/11086759).
"""

import pytest

from lifecycle.agronomy.heat_stages import HeatStage, stage_reached

MODEL = (
    HeatStage("first bloom", 954, 254),
    HeatStage("early bloom", 1349, 306),
    HeatStage("peak bloom", 1810, 261),
    HeatStage("physiological maturity", 2393, 215),
    HeatStage("red harvest", 3159, 220),
)


def test_1900_units_lie_between_peak_bloom_and_maturity():
    found = stage_reached(1900, MODEL)
    assert found.reached.name == "peak bloom"
    assert found.coming.name == "physiological maturity"
    # Within the model's +/- 261, peak bloom itself is not yet certain.
    assert found.surely.name == "early bloom"
    assert found.perhaps.name == "peak bloom"


@pytest.mark.parametrize(
    ("total", "reached"),
    [(900, None), (954, "first bloom"), (2393, "physiological maturity"), (3400, "red harvest")],
)
def test_the_printed_means_begin_their_stages(total, reached):
    found = stage_reached(total, MODEL).reached
    assert (found.name if found else None) == reached

"""Screening levels for lead in residential soil: US EPA, as tracked by the Harvard Environmental &
Energy Law Program (20 October 2025).

January 2024: 200 ppm, or 100 ppm with other sources of lead. October 2025: one level for all
properties; that it is 200 ppm is from memory.
"""

from lifecycle.agronomy.food_safety import lead_flagged
from lifecycle.handbook import CAUTIONS


def test_150_ppm_where_old_paint_is_about():
    assert lead_flagged(150, level_ppm=100)
    assert not lead_flagged(150, level_ppm=200)


def test_the_caution_names_both_editions():
    words = CAUTIONS["lead"]
    assert "January 2024 said 200 ppm, and 100 where lead has other sources" in words
    assert "October 2025 made it one level, 200 from memory" in words

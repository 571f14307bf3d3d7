"""Screening levels for lead in residential soil: US EPA, as tracked by the Harvard Environmental &
Energy Law Program (20 October 2025).

January 2024: 200 ppm, or 100 ppm with other sources of lead. October 2025: one level for all
properties; that it is 200 ppm is from memory.
"""

from lifecycle.agronomy.food_safety import lead_flagged


def test_150_ppm_where_old_paint_is_about():
    assert lead_flagged(150, level_ppm=100)
    assert not lead_flagged(150, level_ppm=200)

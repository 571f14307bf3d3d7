"""Growing years begin where the site says, in both hemispheres."""

from datetime import date, timedelta

import pytest

from lifecycle.life.growing_year import growing_year_of, growing_year_start


@pytest.mark.parametrize(
    ("day", "starts_in", "year"),
    [
        (date(2026, 1, 1), 1, 2026),
        (date(2026, 12, 31), 1, 2026),
        (date(2024, 2, 29), 1, 2024),
        (date(2026, 6, 30), 7, 2025),
        (date(2026, 7, 1), 7, 2026),
        (date(2024, 2, 29), 7, 2023),
        (date(2024, 2, 29), 3, 2023),
        (date(2024, 2, 29), 2, 2024),
        (date(2026, 12, 31), 12, 2026),
        (date(2026, 11, 30), 12, 2025),
    ],
)
def test_the_year_a_day_belongs_to(day: date, starts_in: int, year: int) -> None:
    assert growing_year_of(day, starts_in) == year


@pytest.mark.parametrize("starts_in", range(1, 13))
def test_every_day_of_eight_years_lies_in_its_growing_year(starts_in: int) -> None:
    day, end = date(2023, 1, 1), date(2031, 1, 1)
    while day < end:
        year = growing_year_of(day, starts_in)
        assert growing_year_start(year, starts_in) <= day < growing_year_start(year + 1, starts_in)
        day += timedelta(1)


def test_a_winter_belongs_to_the_growing_year_it_ends() -> None:
    # North, years from January: November closes the year it falls in.
    assert growing_year_of(date(2026, 11, 15), 1) == 2026
    # South, years from July: the frosts of June close the year that began the July before.
    assert growing_year_of(date(2027, 6, 15), 7) == 2026

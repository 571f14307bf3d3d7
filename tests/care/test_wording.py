"""Numbers in a sentence, in the reader's units."""

from datetime import date

import pytest

from lifecycle.care.wording import centimetres, degrees, in_units, short_date


@pytest.mark.parametrize(
    ("celsius", "unit", "text"),
    [
        (12.78, "F", "55 °F"),
        (10.0, "F", "50 °F"),
        (10.0, "C", "10 °C"),
        (12.78, "C", "12.8 °C"),
        (-2.2, "F", "28 °F"),
        (-20.0, "F", "−4 °F"),
        (-2.25, "C", "−2.2 °C"),
        (-0.04, "C", "0 °C"),
        (0.0, "C", "0 °C"),
        (-17.78, "F", "0 °F"),
    ],
)
def test_temperatures(celsius: float, unit: str, text: str) -> None:
    assert degrees(celsius, unit) == text


def test_no_minus_zero_in_f() -> None:
    assert degrees(-17.8, "F") == "0 °F"


@pytest.mark.parametrize(
    ("cm", "unit", "text"),
    [(10.16, "in", "4 in"), (5.08, "in", "2 in"), (10.16, "cm", "10 cm"), (24.0, "in", "9 in")],
)
def test_lengths(cm: float, unit: str, text: str) -> None:
    assert centimetres(cm, unit) == text


def test_dates_name_the_year_only_when_it_is_another() -> None:
    assert short_date(date(2026, 5, 1), date(2026, 12, 31)) == "1 May"
    assert short_date(date(2027, 5, 1), date(2026, 12, 31)) == "1 May 2027"
    assert short_date(date(2026, 5, 1)) == "1 May 2026"


def test_a_sentence_in_four_ways() -> None:
    text = "Cut to {10.2 cm} by {2026-05-12}, below {12.78 C} or {-3 C}."
    near = date(2026, 1, 1)
    assert in_units(text, around=near) == "Cut to 10 cm by 12 May, below 12.8 °C or −3 °C."
    assert in_units(text, "F", "in", near) == "Cut to 4 in by 12 May, below 55 °F or 27 °F."
    assert in_units(text, "F", "cm") == "Cut to 10 cm by 12 May 2026, below 55 °F or 27 °F."


def test_other_braces_are_left_alone() -> None:
    assert in_units("{name} and {3 kg} and { 3 C}") == "{name} and {3 kg} and { 3 C}"

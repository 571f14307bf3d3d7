"""Numbers in a sentence, in the reader's units."""

from datetime import date

import pytest

from lifecycle.care.wording import centimetres, degrees, in_units, measure, short_date


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


@pytest.mark.parametrize(
    ("value", "unit", "metric", "feet"),
    [
        (12.0, "mm", "12 mm", "0.5 in"),
        (25.4, "mm", "25 mm", "1 in"),
        (2.4, "m2", "2.4 m²", "26 sq ft"),
        (3.81, "g/m2", "3.8 g/m²", "0.12 oz/10 sq ft"),
        (92.3, "litre", "92.3 litres", "24.4 gal"),
        (100.0, "g", "100 g", "3.5 oz"),
        (10.16, "cm", "10 cm", "4 in"),
    ],
)
def test_amounts_in_both_ways(value: float, unit: str, metric: str, feet: str) -> None:
    assert measure(value, unit, "cm") == metric
    assert measure(value, unit, "in") == feet
    assert in_units(f"{{{value} {unit}}}", length="in") == feet


def test_an_unknown_amount_is_an_error() -> None:
    with pytest.raises(KeyError):
        measure(1.0, "kg", "in")

"""Numbers as people type them: a comma that may mean two things is asked about, not guessed."""

import re

import pytest
from django.core.exceptions import ValidationError
from hypothesis import given
from hypothesis import strategies as st

from lifecycle.life.kinds import Quantity
from lifecycle.models import Person
from lifecycle.web.forms.fields import MeasureField, TemperatureField
from lifecycle.web.forms.gardens import DegreesField
from lifecycle.web.forms.giving import WEIGHT
from lifecycle.web.forms.typed_numbers import number, plain, two_ways

GRAMS = MeasureField(WEIGHT, Person(length="cm"))


def refusal(field, typed: str) -> str:
    with pytest.raises(ValidationError) as refused:
        field.clean(typed)
    [sentence] = refused.value.messages
    return sentence


@pytest.mark.parametrize(
    ("typed", "whole", "point"),
    [
        ("1,000 g", "1000", "1.000"),
        ("1,000", "1000", "1.000"),
        ("2,500 kg", "2500", "2.500"),
        ("12,125 lb", "12125", "12.125"),
        ("999,999", "999999", "999.999"),
    ],
)
def test_a_comma_before_three_digits_is_asked_about(typed: str, whole: str, point: str) -> None:
    comma = typed.split(maxsplit=1)[0]
    assert refusal(GRAMS, typed) == (
        f"Weight: “{comma}” may mean {whole} or {point}. Type the one you mean, no comma."
    )


@pytest.mark.parametrize(
    ("typed", "grams"),
    [
        ("2,5 kg", 2500),
        ("2.5 kg", 2500),
        ("0,500 kg", 500),
        ("1.000 kg", 1000),
        ("1000", 1000),
        ("1234,567", 1234.567),
        ("1,25 kg", 1250),
        ("3 lb", 1360.7771),
        ("3 lbs", 1360.7771),
        ("3 LBS.", 1360.7771),
    ],
)
def test_what_can_mean_only_one_thing_is_taken(typed: str, grams: float) -> None:
    assert GRAMS.clean(typed) == pytest.approx(grams, abs=0.001)


def test_every_amount_asks() -> None:
    water = MeasureField(Quantity("Water", "litre", 0, 5000), Person(length="cm"))
    assert refusal(water, "1,500 l").startswith("Water: “1,500” may mean 1500 or 1.500.")


@pytest.mark.parametrize("unit", ["g", "mm", "m2", "count", "litre"])
@pytest.mark.parametrize("length", ["cm", "in"])
def test_a_refusal_writes_its_numbers_out(unit: str, length: str) -> None:
    for high in (1_000_000, 200_000_000):
        field = MeasureField(Quantity("Size", unit, 1, high), Person(length=length))
        assert not re.search(r"\de[+-]\d", refusal(field, "x")), refusal(field, "x")
    warm = TemperatureField(label="Low", unit="C", low_c=-60, high_c=60)
    assert warm.sentence() == "Low: give a temperature from -60 to 60 °C."


@given(st.floats(-1e12, 1e12, allow_nan=False))
def test_plain_numbers_read_back_and_hold_no_power(value: float) -> None:
    written = plain(value)
    assert "e" not in written.lower()
    assert number(written) == float(f"{value:.6g}")


@given(st.integers(-999, 999), st.integers(0, 999))
def test_only_a_leading_digit_makes_two_ways(whole: int, rest: int) -> None:
    assert bool(two_ways(f"{whole},{rest:03}")) is (whole != 0)
    assert two_ways(f"{whole},{rest:04}") == ""
    assert two_ways(f"{whole}.{rest:03}") == ""


@pytest.mark.parametrize(
    ("typed", "degrees"),
    [("-105,5", -105.5), ("−105,5", -105.5), ("-105.5", -105.5), ("1,234", 1.234), ("2", 2.0)],
)
def test_degrees_take_a_decimal_comma(typed: str, degrees: float) -> None:
    assert DegreesField(label="Longitude", low=-180, high=180).clean(typed) == degrees


@pytest.mark.parametrize("typed", ["1,2,3", "200", "200,5", "east", "1e400", "nan"])
def test_other_degrees_are_refused(typed: str) -> None:
    field = DegreesField(label="Longitude", low=-180, high=180)
    assert refusal(field, typed) == "Longitude: give degrees from -180 to 180, such as 41.4."

"""What a refusal says, and where the bounds of an input lie."""

from collections.abc import Callable

import pytest


def refusal(call: Callable[[], object]) -> str:
    """The sentence with which `call` refuses."""
    with pytest.raises(ValueError, match=r"\.$") as caught:
        call()
    return str(caught.value)


def assert_bounds(call: Callable[[float], object], what: str, low: float, high: float, unit=""):
    """`call` takes `low` and `high` themselves, and nothing beyond either."""
    call(low)
    call(high)
    space = f" {unit}" if unit else ""
    told = f"give a value from {low:,.10g} to {high:,.10g}{space}."
    for wrong in (low - 1e-6, high + 1e-6):
        assert refusal(lambda wrong=wrong: call(wrong)) == f"{what} is {wrong:,.10g}; {told}"
    assert refusal(lambda: call(float("nan"))) == f"{what} is missing; {told}"

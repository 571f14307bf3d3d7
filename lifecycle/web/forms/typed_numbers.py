"""Numbers as people type them, with a decimal comma or point, and as a sentence writes them."""

import re
from decimal import Decimal

_TWO_WAYS = re.compile(r"([-−+]?[1-9][0-9]{0,2}),([0-9]{3})")


def number(text: str) -> float:
    """Return what was typed with a decimal comma or point; raises ValueError for anything else."""
    return float(text.replace(",", ".").replace("−", "-"))


def two_ways(text: str) -> str:
    """Return the sentence that asks which of two numbers is meant by "1,000", or "".

    A comma before exactly three digits sets thousands apart in one country, and decimals in
    another; after a zero or four digits it can only be the latter.
    """
    found = _TWO_WAYS.fullmatch(text)
    if found is None:
        return ""
    whole, rest = found.groups()
    return f"“{text}” may mean {whole}{rest} or {whole}.{rest}. Type the one you mean, no comma."


def plain(value: float, figures: int = 6) -> str:
    """Return a number in so many figures, all of them written out: 1000000, never 1e+06."""
    return f"{Decimal(f'{value:.{figures}g}').normalize():f}"

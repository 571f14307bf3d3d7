"""Taking somebody's name, address and telephone number out of words.

A name of at least two words, an address or a number says who is meant wherever it stands. A name
of one word may be a plant's or a month's too (Basil, Rose, April): it is taken only out of what
the site itself wrote, where it can only be the person.
"""

import html
import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

LEAST_DIGITS = 5
LONGEST_CODE = 3
"""Digits that a country's code has at most."""
FORMER = "former member"
ANOTHER = "another member"


@dataclass(slots=True)
class Known:
    """What a person can be known by."""

    names: list[str] = field(default_factory=list)
    addresses: list[str] = field(default_factory=list)
    phones: list[str] = field(default_factory=list)


class Scrubber:
    """Puts a word in the place of what one or several people can be known by."""

    def __init__(self, people: Iterable[Known], instead: str) -> None:
        self.instead = instead
        sure: list[str] = []
        short: list[str] = []
        for known in people:
            sure += [_exactly(address) for address in known.addresses if address]
            sure += [_number(phone) for phone in known.phones if _digits(phone) >= LEAST_DIGITS]
            for name in known.names:
                words = name.split()
                (sure if len(words) > 1 else short).extend(_forms(words))
        self._sure = _joined(sure, re.IGNORECASE)
        self._short = _joined(short, 0)

    def out_of(self, text: str, *, own_words: bool) -> str:
        """Return ``text`` without them. ``own_words``: the site wrote it, nobody typed it."""
        for pattern in (self._sure, self._short if own_words else None):
            if pattern is not None:
                text = pattern.sub(self._word, text)
        return text

    def out_of_structure(self, value: Any, *, own_words: bool) -> Any:
        """Return what was kept as JSON without them."""
        if isinstance(value, str):
            return self.out_of(value, own_words=own_words)
        if isinstance(value, list):
            return [self.out_of_structure(each, own_words=own_words) for each in value]
        if isinstance(value, dict):
            return {
                self.out_of(key, own_words=own_words): self.out_of_structure(
                    each, own_words=own_words
                )
                for key, each in value.items()
            }
        return value

    def _word(self, match: "re.Match[str]") -> str:
        before = match.string[: match.start()].rstrip(" ")
        begins = not before or before[-1] in ".!?\n>"
        return self.instead.capitalize() if begins else self.instead


def _joined(patterns: list[str], flags: int) -> "re.Pattern[str] | None":
    longest_first = sorted(set(patterns), key=len, reverse=True)
    return re.compile("|".join(longest_first), flags) if longest_first else None


def _forms(words: list[str]) -> list[str]:
    """Return the patterns of a name, as it is and as it stands in HTML."""
    if not words:
        return []
    written = [words, [html.escape(word) for word in words]]
    joined = [r"\s+".join(re.escape(word) for word in form) for form in written]
    return [rf"(?<!\w){form}(?!\w)" for form in joined]


def _exactly(text: str) -> str:
    return rf"(?<![\w.+-]){re.escape(text)}(?!\.?[\w-])"


def _digits(phone: str) -> int:
    return sum(mark.isdigit() for mark in phone)


def _number(phone: str) -> str:
    """Return the pattern of a number, also without its country code or with zeros for the plus."""
    digits = [mark for mark in phone if mark.isdigit()]
    code = min(LONGEST_CODE, len(digits) - LEAST_DIGITS) if phone.startswith("+") else 0
    between = r"[ ().\-/]*"
    before = "".join(f"(?:{mark}{between})?" for mark in digits[:code])
    return rf"(?<!\d)\+?(?:00?)?{before}{between.join(digits[code:])}(?!\d)"

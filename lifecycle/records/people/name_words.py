"""Taking somebody's name, address and telephone number out of words.

A name of at least two words, an address or a number says who is meant wherever it stands. A name
of one word may be a plant's or a month's too (Basil, Rose, April): it is taken only out of what
the site itself wrote, where it can only be the person. What people typed is searched whatever the
case, but a name there begins and ends with a capital: nobody is called “do not”.
"""

import html
import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

LEAST_DIGITS = 7
"""A number of fewer digits may be a weight, a year or a label's code."""
LONGEST_CODE = 3
"""Digits that a country's code has at most."""
FORMER = "former member"
ANOTHER = "another member"

_A_DATE = re.compile(
    r"(?<!\d)(?:\d{4}[-/. ]\d{1,2}[-/. ]\d{1,2}|\d{1,2}[-/. ]\d{1,2}[-/. ]\d{4}"
    r"|(?:19|20)\d\d[-/. ]+(?:19|20)\d\d|(?:19|20)\d\d(?:0\d|1[0-2])[0-3]\d)(?!\d)"
)
"""Days and spans of years as they are written; a number that may be one stays."""


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
        addresses: list[str] = []
        phones: list[str] = []
        names: list[str] = []
        short: list[str] = []
        for known in people:
            addresses += [_exactly(address) for address in known.addresses if address]
            phones += [_number(phone) for phone in known.phones if _digits(phone) >= LEAST_DIGITS]
            for name in known.names:
                words = name.split()
                (names if len(words) > 1 else short).extend(_forms(words))
        self._addresses = _joined(addresses, re.IGNORECASE)
        self._phones = _joined(phones, 0)
        self._typed = _joined(names, re.IGNORECASE)
        self._own = _joined([*names, *short], 0)

    def out_of(self, text: str, *, own_words: bool) -> str:
        """Return ``text`` without them. ``own_words``: the site wrote it, nobody typed it."""
        if self._addresses is not None:
            text = self._addresses.sub(self._word, text)
        if self._phones is not None:
            text = self._phones.sub(self._unless_a_date, text)
        if own_words and self._own is not None:
            text = self._own.sub(self._word, text)
        if self._typed is not None:
            text = self._typed.sub(self._if_a_name, text)
        return text

    def out_of_structure(self, value: Any, *, own_words: bool) -> Any:
        """Return what was kept as JSON without them; the names of its parts stay."""
        if isinstance(value, str):
            return self.out_of(value, own_words=own_words)
        if isinstance(value, list):
            return [self.out_of_structure(each, own_words=own_words) for each in value]
        if isinstance(value, dict):
            return {
                key: self.out_of_structure(each, own_words=own_words) for key, each in value.items()
            }
        return value

    def _word(self, match: "re.Match[str]") -> str:
        before = match.string[: match.start()].rstrip(" ")
        begins = not before or before[-1] in ".!?\n>"
        return self.instead.capitalize() if begins else self.instead

    def _if_a_name(self, match: "re.Match[str]") -> str:
        words = match.group().split()
        capital = not (words[0][0].islower() or words[-1][0].islower())
        return self._word(match) if capital else match.group()

    def _unless_a_date(self, match: "re.Match[str]") -> str:
        around = _A_DATE.finditer(match.string)
        overlaps = any(d.start() < match.end() and match.start() < d.end() for d in around)
        return match.group() if overlaps else self._word(match)


def _joined(patterns: list[str], flags: int) -> "re.Pattern[str] | None":
    longest_first = sorted(set(patterns), key=len, reverse=True)
    return re.compile("|".join(longest_first), flags) if longest_first else None


def _forms(words: list[str]) -> list[str]:
    """Return the patterns of a name, as it is and as it stands in HTML."""
    if not words:
        return []
    written = [words, [html.escape(word) for word in words]]
    joined = [r"\s+".join(re.escape(word) for word in form) for form in written]
    return [rf"(?<![\w{{]){form}(?![\w}}])" for form in joined]


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
    number = between.join(digits[code:])
    # Not a piece of a longer number, of a decimal fraction, of a moment or of a code.
    return rf"(?<!\w)(?<!\d[.,:/\-])\+?(?:00?)?{before}{number}(?!\w)(?![.,:/\-]\d)"

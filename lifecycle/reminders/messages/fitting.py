"""Make words fit a small message: names shortened with sense, and characters that any phone shows.

GSM-7 is the basic alphabet of 3GPP TS 23.038 (from memory): a text in it may have 160
characters, where one foreign character halves that.
"""

import unicodedata
from collections.abc import Callable, Iterable

GSM7 = frozenset(
    "@£$¥èéùìòÇØøÅåΔ_ΦΓΛΩΠΨΣΘΞÆæßÉ !\"#¤%&'()*+,-./0123456789:;<=>?¡"
    "ABCDEFGHIJKLMNOPQRSTUVWXYZÄÖÑÜ§¿abcdefghijklmnopqrstuvwxyzäöñüà"
)
_ALIKE = {
    "−": "-",
    "–": "-",
    "—": "-",
    "’": "'",
    "‘": "'",
    "“": '"',
    "”": '"',
    "…": "...",
    "\u00a0": " ",
}


def gsm7(text: str) -> str:
    """Return ``text`` in GSM-7: like characters for those it lacks, letters without accents.

    What has nothing alike is left out.
    """
    plain = text.replace(" °", "").replace("°", "")
    return " ".join("".join(_character(each) for each in plain).split())


def _character(character: str) -> str:
    if character in GSM7:
        return character
    if character in _ALIKE:
        return _ALIKE[character]
    base = unicodedata.normalize("NFKD", character)
    return "".join(part for part in base if part in GSM7)


def shortened(name: str, most: int) -> str:
    """Return a name in at most ``most`` characters: whole words, the first ones.

    A word that is too long by itself is cut and ends in a full stop.
    """
    if len(name) <= most:
        return name
    kept = ""
    for word in name.split():
        longer = f"{kept} {word}".strip()
        if len(longer) > most:
            break
        kept = longer
    return kept.rstrip(" ,;:-&") or f"{name[: most - 1].rstrip()}."


def first_that_fits(versions: Iterable[Callable[[], str]], most: int) -> str:
    """Return the first of ``versions``, fullest first, that has at most ``most`` characters.

    The last one where none has: a long address cannot be shortened.
    """
    text = ""
    for version in versions:
        text = version()
        if len(text) <= most:
            return text
    return text

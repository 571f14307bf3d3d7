"""Label codes: six characters that are hard to confuse, read aloud or typed with cold hands."""

import secrets

from lifecycle.models import Plant, Sowing

ALPHABET = "2346789ABCDEFGHJKMNPQRTUVWXY"
LENGTH = 6


def new_codes(number: int) -> list[str]:
    """Return ``number`` codes that no plant and no sowing carries."""
    found: set[str] = set()
    while len(found) < number:
        fresh = {
            "".join(secrets.choice(ALPHABET) for _ in range(LENGTH))
            for _ in range(number - len(found))
        }
        for table in (Plant, Sowing):
            fresh -= set(table.objects.filter(code__in=fresh).values_list("code", flat=True))
        found |= fresh
    return sorted(found)

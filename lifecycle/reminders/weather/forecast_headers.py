"""What a service's headers say: how long an answer is good for, and how long to leave it alone."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from email.utils import parsedate_to_datetime

LONGEST_PAUSE = timedelta(days=1)
LONGEST_ETAG = 200

_MAX_AGE = re.compile(r"(?:^|[,\s])max-age=(\d{1,9})")
_UNCACHED = re.compile(r"(?:^|[,\s])no-(?:store|cache)\b")


@dataclass(frozen=True, slots=True)
class Lives:
    """How long an answer is kept at the least and at the most, whatever the service says."""

    least: timedelta
    most: timedelta


def pause_of(text: str, now: datetime) -> timedelta:
    """Return how long Retry-After asks to wait, as seconds or as a date; a day at most."""
    if text.isascii() and text.isdigit():
        wanted = timedelta(seconds=min(int(text[:9]), 10**6))
    else:
        until = _http_date(text)
        wanted = until - now if until is not None else timedelta(0)
    return min(max(wanted, timedelta(0)), LONGEST_PAUSE)


def life_of(headers: Mapping[str, str], lives: Lives, now: datetime) -> timedelta:
    """Return how long an answer is fresh by its headers, within the bounds."""
    control = headers.get("Cache-Control", "").lower()
    max_age = _MAX_AGE.search(control)
    expires = _http_date(headers.get("Expires", ""))
    if _UNCACHED.search(control):
        wanted = timedelta(0)
    elif max_age is not None:
        wanted = timedelta(seconds=int(max_age[1]))
    elif expires is not None:
        wanted = expires - now
    else:
        wanted = timedelta(hours=1)
    return min(max(wanted, lives.least), lives.most)


def etag_of(headers: Mapping[str, str]) -> str:
    """Return an answer's mark, for asking whether it is still the newest; only plain text."""
    etag = headers.get("ETag", "")
    return etag if len(etag) <= LONGEST_ETAG and etag.isascii() and etag.isprintable() else ""


def _http_date(text: str) -> datetime | None:
    try:
        found = parsedate_to_datetime(text)
    except ValueError:
        return None
    return found if found.tzinfo is not None else found.replace(tzinfo=UTC)

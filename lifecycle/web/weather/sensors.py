"""The public address to which a site's own thermometer sends its readings."""

import json
import math
from contextlib import suppress
from datetime import UTC, datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_POST

from lifecycle.agronomy.daily_record import celsius
from lifecycle.records.refusal import Refused
from lifecycle.records.weather.sensors import address_by, keep_reading

LARGEST = 2048
"""Bytes of a reading at most."""

LARGEST_PK = 2**53
_WANTED = 'Send {"c": 3.2} or {"f": 38}, and where known "at", such as "2026-10-14T05:30Z".'


@csrf_exempt
@login_not_required
@never_cache
@require_POST
def sensor(request: HttpRequest, pk: int, code: str) -> HttpResponse:
    """Take one reading; a wrong code and an address that never was get the same answer."""
    length = request.META.get("CONTENT_LENGTH") or "0"
    if not (length.isascii() and length.isdigit()) or int(length) > LARGEST:
        return _said(f"A reading has at most {LARGEST} bytes.", 413)
    address = address_by(min(pk, LARGEST_PK), code)
    if address is None:
        return _said("There is no such address.", 404)
    now = timezone.now()
    try:
        given = _given(request)
        air_c = _air_c(given)
        at = _instant(given.get("at"), ZoneInfo(address.site.time_zone), now)
        kept = keep_reading(address, air_c=air_c, at=at, now=now)
    except Refused as refusal:
        return _said(str(refusal), 400)
    when = f"{at.astimezone(UTC):%Y-%m-%dT%H:%MZ}"
    if not kept:
        return _said(f"The minute {when} is kept already.", 202)
    return _said(f"Kept {air_c:.1f} C at {when}.", 200)


def _said(line: str, status: int) -> HttpResponse:
    return HttpResponse(f"{line}\n", status=status, content_type="text/plain; charset=utf-8")


def _given(request: HttpRequest) -> dict[str, Any]:
    """Return what was sent, as JSON or as a form."""
    if request.content_type in ("application/x-www-form-urlencoded", "multipart/form-data"):
        return request.POST.dict()
    try:
        found = json.loads(request.body)
    except (ValueError, RecursionError):
        raise Refused(_WANTED) from None
    if not isinstance(found, dict):
        raise Refused(_WANTED)
    return found


def _air_c(given: dict[str, Any]) -> float:
    """Return the air in C; Refused unless it is given once, in C or F."""
    units = [unit for unit in ("c", "f") if unit in given]
    value = given[units[0]] if len(units) == 1 else None
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise Refused(_WANTED)
    try:
        number = float(value)
    except (ValueError, OverflowError):
        number = math.nan
    if not math.isfinite(number):
        raise Refused(_WANTED)
    return celsius(number) if units == ["f"] else number


def _instant(text: object, zone: ZoneInfo, now: datetime) -> datetime:
    """Return when it was read: now, or an ISO time, on the site's clock unless it says more."""
    if text is None or text == "":
        return now
    with suppress(ValueError, OverflowError):
        moment = datetime.fromisoformat(text) if isinstance(text, str) else None
        if moment is not None:
            return (moment if moment.tzinfo else moment.replace(tzinfo=zone)).astimezone(UTC)
    raise Refused(_WANTED)

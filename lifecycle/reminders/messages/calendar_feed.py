"""A person's planned work as a calendar others can subscribe to (RFC 5545, RFC 7986)."""

import re
from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta
from functools import partial
from typing import Any
from zoneinfo import ZoneInfo

from icalendar import Calendar, Component, vDuration, vText
from icalendar import Event as CalendarEvent

from lifecycle.models import CalendarAddress, CalendarItem
from lifecycle.records.messages.calendar import publish
from lifecycle.reminders.messages.calendar_events import planned
from lifecycle.reminders.time_zones import time_zone

REFRESH = timedelta(hours=12)
NAME = "My garden work"
DESCRIPTION = (
    "Your planned work and your turns on call. It may take a day to update; frost messages do "
    "not come this way."
)
GONE = "No longer planned, or no longer yours."
_CONTROL = re.compile(r"[\x00-\x09\x0b-\x1f\x7f]")


def feed(address: CalendarAddress, *, now: datetime) -> bytes:
    """Return the calendar at an address as it is now, and note that it was read.

    Raises CalendarAddress.DoesNotExist when the address ended meanwhile.
    """
    plan = partial(planned, address.person, now=now)
    return as_text(publish(address, plan, now=now))


def as_text(items: Sequence[CalendarItem]) -> bytes:
    """Return events as iCalendar text: folded, escaped, CRLF at line ends."""
    calendar = Calendar()
    calendar.add("prodid", "-//Garden record//Planned work//EN")
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    for name, text in (("name", NAME), ("description", DESCRIPTION)):
        _text(calendar, name, text)
    # What clients of before RFC 7986 read.
    _text(calendar, "x-wr-calname", NAME)
    _text(calendar, "x-wr-caldesc", DESCRIPTION)
    calendar.add("refresh-interval", REFRESH, parameters={"value": "DURATION"})
    calendar.add("x-published-ttl", vDuration(REFRESH))
    for zone in _zones(items):
        calendar.add_component(zone)
    for item in items:
        calendar.add_component(_event(item))
    return bytes(calendar.to_ical())


def _event(item: CalendarItem) -> CalendarEvent:
    content: dict[str, Any] = item.content
    gone = item.gone_at is not None
    made = CalendarEvent()
    made.add("uid", str(item.uid))
    made.add("sequence", item.sequence)
    made.add("dtstamp", item.changed_at.astimezone(UTC))
    made.add("created", item.made_at.astimezone(UTC))
    made.add("last-modified", item.changed_at.astimezone(UTC))
    made.add("dtstart", _moment(content["starts"], content["zone"]))
    made.add("dtend", _moment(content["ends"], content["zone"]))
    made.add("status", "CANCELLED" if gone else "CONFIRMED")
    made.add("transp", "TRANSPARENT")
    _text(made, "summary", f"Cancelled: {content['summary']}" if gone else content["summary"])
    _text(made, "description", f"{GONE}\n{content['url']}" if gone else content["description"])
    _text(made, "location", content["location"])
    made.add("categories", [_plain(word) for word in content["categories"]])
    made.add("url", content["url"])
    return made


def _moment(text: str, zone: str) -> date | datetime:
    if not zone:
        return date.fromisoformat(text)
    local = datetime.fromisoformat(text)
    return local.replace(tzinfo=UTC if zone == "UTC" else ZoneInfo(zone))


def _zones(items: Sequence[CalendarItem]) -> list[Component]:
    """Return the zones that the timed events need, each for the time they span."""
    spans: dict[str, list[datetime]] = {}
    for item in items:
        zone = item.content["zone"]
        if zone and zone != "UTC":
            ends = (item.content["starts"], item.content["ends"])
            spans.setdefault(zone, []).extend(
                datetime.fromisoformat(text).replace(tzinfo=UTC) for text in ends
            )
    spare = timedelta(days=400)
    return [
        time_zone(zone, min(moments) - spare, max(moments) + spare)
        for zone, moments in sorted(spans.items())
    ]


def _text(component: Component, name: str, text: str) -> None:
    component.add(name, vText(_plain(text)))


def _plain(text: str) -> str:
    """Return text without control characters, which RFC 5545 (3.3.11) does not allow."""
    return _CONTROL.sub(" ", text)

"""A calendar feed read back by two parsers that share no code."""

from datetime import UTC, date, datetime
from typing import Any

import icalendar
import vobject

from lifecycle.models import CalendarAddress, Membership, Person
from lifecycle.records.messages.calendar import new_address
from lifecycle.reminders.messages.calendar_feed import feed
from tests.factories import NOON

Read = dict[str, dict[str, Any]]


def address_of(who: Membership | Person) -> CalendarAddress:
    """Give somebody a calendar address."""
    return new_address(who.person if isinstance(who, Membership) else who, now=NOON)


def read(address: CalendarAddress, now: datetime = NOON) -> Read:
    """Return the events of a feed by UID, as both parsers read them."""
    text = feed(address, now=now).decode()
    first, second = by_icalendar(text), by_vobject(text)
    assert first == second
    return first


def in_words(found: Read) -> list[tuple[str, str, str]]:
    """Return day, status and summary of each event, in order."""
    return sorted((str(row["starts"]), row["status"], row["summary"]) for row in found.values())


def by_icalendar(text: str) -> Read:
    """Read with icalendar."""
    found = {}
    for event in icalendar.Calendar.from_ical(text).events:
        assert not event.errors
        found[str(event["uid"])] = {
            **{name: str(event[name]) for name in _TEXTS},
            **{key: _moment(event[name].dt) for key, name in _MOMENTS.items()},
            "sequence": int(event["sequence"]),
            "categories": [str(word) for word in event["categories"].cats],
        }
    return found


def by_vobject(text: str) -> Read:
    """Read with vobject."""
    calendar = vobject.readOne(text)
    calendar.validate(raiseException=True)
    return {event.uid.value: _of_vobject(event) for event in calendar.contents.get("vevent", [])}


def _of_vobject(event: Any) -> dict[str, Any]:
    return {
        **{name: event.getChildValue(name) for name in _TEXTS},
        **{
            key: _moment(event.getChildValue(name.replace("-", "_")))
            for key, name in _MOMENTS.items()
        },
        "sequence": int(event.sequence.value),
        "categories": list(event.categories.value),
    }


_TEXTS = ("summary", "description", "location", "status", "url", "transp")
_MOMENTS = {
    "starts": "dtstart",
    "ends": "dtend",
    "stamped": "dtstamp",
    "made": "created",
    "changed": "last-modified",
}


def _moment(value: date | datetime) -> date | datetime:
    """Return an instant in UTC; a whole day stays a day."""
    return value.astimezone(UTC) if isinstance(value, datetime) else value

"""Rules of RFC 5545 (iCalendar, 2009) and RFC 7986 (2016) for the calendar feed.

Section numbers and rules from memory; the reader here is written from the rules alone and
shares nothing with the library that writes the feed.
"""

import re
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from lifecycle.models import OnCallTurn, Plant, Site, Task
from lifecycle.reminders.messages.calendar_feed import feed
from lifecycle.reminders.time_zones import time_zone
from tests.conftest import World
from tests.factories import NOON, a_plant, a_task
from tests.reminders.calendars import address_of

LINE = re.compile(r'([A-Z0-9-]+)((?:;[A-Z0-9-]+=(?:"[^"]*"|[^";:,]*))*):(.*)', re.DOTALL)


@pytest.fixture
def lines(world: World) -> list[bytes]:
    """A feed with every sort of event in it, as physical lines."""
    Site.objects.filter(pk=world.site.pk).update(time_zone="Europe/Paris")
    Plant.objects.filter(pk=world.plant.pk).update(name="Žluť, „ostrá“; 辣椒\\1 " + "ö" * 40)
    a_task(world.plant, "cut_back")
    tasks = [a_task(a_plant(world.member, world.bed, name=f"P{n}"), "lift") for n in range(3)]
    gone = a_task(world.plant, "mulch", best=date(2026, 10, 12))
    for first in (date(2026, 10, 19), date(2026, 10, 26)):
        OnCallTurn.objects.create(
            garden=world.garden,
            site=world.site,
            person=world.member.person,
            first_day=first,
            last_day=first + timedelta(6),
        )
    address = address_of(world.member)
    feed(address, now=NOON)
    Task.objects.filter(pk=gone.pk).update(state="withdrawn", closed_at=NOON)
    Task.objects.filter(pk=tasks[0].pk).update(state="done", closed_at=NOON)
    text = feed(address, now=NOON + timedelta(1))
    assert text.endswith(b"\r\n")
    return text.split(b"\r\n")[:-1]


@pytest.fixture
def content(lines: list[bytes]) -> list[tuple[str, dict[str, str], str]]:
    """Name, parameters and value of every content line, unfolded (3.1)."""
    whole = b"\r\n".join(lines).replace(b"\r\n ", b"").decode()
    found = []
    for line in whole.split("\r\n"):
        match = LINE.fullmatch(line)
        assert match, line
        given = [part.partition("=") for part in match[2].split(";")[1:]]
        found.append((match[1], {name: value for name, _, value in given}, match[3]))
    return found


def components(content: list, kind: str) -> Iterator[list[tuple[str, dict[str, str], str]]]:
    """Yield the properties of each component of a kind, those of its parts left out."""
    stack: list[tuple[str, list]] = []
    for name, given, value in content:
        if name == "BEGIN":
            stack.append((value, []))
        elif name == "END":
            ended, properties = stack.pop()
            assert ended == value
            if ended == kind:
                yield properties
        else:
            stack[-1][1].append((name, given, value))
    assert not stack


def one(properties: list, name: str) -> tuple[dict[str, str], str]:
    [(_, given, value)] = [row for row in properties if row[0] == name]
    return given, value


@pytest.mark.django_db
def test_3_1_lines_are_at_most_75_octets_and_end_in_crlf(lines: list[bytes]) -> None:
    assert max(map(len, lines)) <= 75
    assert not any(b"\r" in line or b"\n" in line for line in lines)
    assert any(line.startswith(b" ") for line in lines)


@pytest.mark.django_db
def test_3_3_11_text_escapes_comma_semicolon_backslash_and_new_line(content: list) -> None:
    texts = {"SUMMARY", "DESCRIPTION", "LOCATION", "NAME", "X-WR-CALNAME", "X-WR-CALDESC"}
    seen = 0
    for name, _, value in content:
        if name in texts:
            seen += 1
            bare = re.sub(r"\\[\\;,nN]", "", value)
            assert not re.search(r"[\\;,]", bare), (name, value)
            assert not re.search(r"[\x00-\x08\x0a-\x1f\x7f]", value), (name, value)
    assert seen > 10
    [cut] = [value for name, _, value in content if name == "SUMMARY" and "Cut back" in value]
    assert "Žluť\\, „ostrá“\\; 辣椒\\\\1" in cut


@pytest.mark.django_db
def test_3_6_calendar_has_prodid_and_version_once_and_no_method(content: list) -> None:
    [calendar] = components(content, "VCALENDAR")
    assert one(calendar, "VERSION") == ({}, "2.0")
    assert one(calendar, "PRODID")[1]
    assert one(calendar, "CALSCALE") == ({}, "GREGORIAN")
    # 3.7.2: a method would make it a scheduling message, which needs an organizer.
    assert "METHOD" not in {name for name, _, _ in calendar}


@pytest.mark.django_db
def test_3_6_1_event_has_its_properties_once_and_ends_after_it_starts(content: list) -> None:
    events = list(components(content, "VEVENT"))
    assert len(events) == 5
    uids = [one(event, "UID")[1] for event in events]
    assert len(set(uids)) == len(uids)
    for event in events:
        names = [name for name, _, _ in event]
        for name in ("DTSTAMP", "DTSTART", "DTEND", "SEQUENCE", "STATUS", "TRANSP", "SUMMARY"):
            assert names.count(name) == 1, name
        assert "DURATION" not in names
        assert one(event, "STATUS")[1] in {"TENTATIVE", "CONFIRMED", "CANCELLED"}  # 3.8.1.11
        assert one(event, "TRANSP")[1] in {"OPAQUE", "TRANSPARENT"}  # 3.8.2.7
        assert re.fullmatch(r"\d+", one(event, "SEQUENCE")[1])  # 3.8.7.4
        for name in ("DTSTAMP", "CREATED", "LAST-MODIFIED"):  # 3.8.7.1 to 3: in UTC
            assert re.fullmatch(r"\d{8}T\d{6}Z", one(event, name)[1])
        (given, starts), (given_too, ends) = one(event, "DTSTART"), one(event, "DTEND")
        assert given == given_too
        assert starts < ends  # 3.8.2.2: the end is exclusive
        pattern = r"\d{8}" if given.get("VALUE") == "DATE" else r"\d{8}T\d{6}"
        assert re.fullmatch(pattern, starts)


@pytest.mark.django_db
def test_3_8_1_11_a_cancelled_event_keeps_its_day_and_its_number_rose(content: list) -> None:
    [gone] = [
        event for event in components(content, "VEVENT") if one(event, "STATUS")[1] == "CANCELLED"
    ]
    assert one(gone, "DTSTART") == ({"VALUE": "DATE"}, "20261012")
    assert one(gone, "SEQUENCE")[1] == "1"


@pytest.mark.django_db
def test_3_6_5_every_zone_named_is_defined_once_and_whole(content: list) -> None:
    named = {given["TZID"] for _, given, _ in content if "TZID" in given}
    defined = [one(zone, "TZID")[1] for zone in components(content, "VTIMEZONE")]
    assert named == set(defined) == {"Europe/Paris"}
    assert len(defined) == 1
    for kind in ("STANDARD", "DAYLIGHT"):
        for part in components(content, kind):
            given, starts = one(part, "DTSTART")
            # 3.6.5: a wall time, neither in UTC nor with a zone of its own.
            assert given == {}
            assert re.fullmatch(r"\d{8}T\d{6}", starts)
            for name in ("TZOFFSETFROM", "TZOFFSETTO"):
                assert re.fullmatch(r"[+-]\d{4}", one(part, name)[1])


@pytest.mark.django_db
def test_7986_names_and_refresh_interval(content: list) -> None:
    [calendar] = components(content, "VCALENDAR")
    assert one(calendar, "NAME") == ({}, "My garden work")  # 5.1
    assert "frost messages do not come this way" in one(calendar, "DESCRIPTION")[1]  # 5.2
    assert one(calendar, "REFRESH-INTERVAL") == ({"VALUE": "DURATION"}, "PT12H")  # 5.7


def observances(name: str, since: datetime, until: datetime) -> list[tuple[str, str, str, str]]:
    return [
        (
            part.name,
            part["dtstart"].to_ical().decode(),
            part["tzoffsetfrom"].to_ical(),
            part["tzoffsetto"].to_ical(),
        )
        for part in time_zone(name, since, until).subcomponents
    ]


def test_3_6_5_example_of_new_york_in_2007() -> None:
    """The example's two changes of 2007; each onset is the wall time before the change."""
    found = observances(
        "America/New_York", datetime(2007, 1, 1, tzinfo=UTC), datetime(2008, 1, 1, tzinfo=UTC)
    )
    assert found[1:] == [
        ("DAYLIGHT", "20070311T020000", "-0500", "-0400"),
        ("STANDARD", "20071104T020000", "-0400", "-0500"),
    ]
    assert found[0] == ("STANDARD", "20061231T190000", "-0500", "-0500")


@pytest.mark.parametrize(
    "name",
    [
        "Europe/Paris",
        "America/Denver",
        "Australia/Lord_Howe",
        "Africa/Casablanca",
        "Asia/Kathmandu",
    ],
)
def test_3_6_5_an_offset_found_by_the_rules_is_the_zones_own(name: str) -> None:
    """The latest onset before a wall time says its offset, hour by hour for two years."""
    since, until = datetime(2025, 6, 1, tzinfo=UTC), datetime(2027, 6, 1, tzinfo=UTC)
    zone = ZoneInfo(name)
    parts = [
        (
            datetime.strptime(starts, "%Y%m%dT%H%M%S").replace(tzinfo=UTC) - offset(before),
            offset(after),
        )
        for _, starts, before, after in observances(name, since, until)
    ]
    moment = since
    while moment < until:
        last = max(part for part in parts if part[0] <= moment)
        assert moment.astimezone(zone).utcoffset() == last[1], moment
        moment += timedelta(minutes=30) * 7


def offset(text: str) -> timedelta:
    sign = -1 if text[0] == "-" else 1
    return sign * timedelta(hours=int(text[1:3]), minutes=int(text[3:5]))

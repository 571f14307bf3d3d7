"""What stands in a person's calendar, read back by two parsers that share no code."""

import time
from datetime import date, timedelta

import icalendar
import pytest
import vobject
from django.db import connection
from django.test.utils import CaptureQueriesContext
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from lifecycle.models import CalendarItem, Membership, OnCallTurn, Person, Plant, Site, Task
from lifecycle.records.work.tasks import cannot_do, give
from lifecycle.reminders.messages.calendar_feed import feed
from tests.conftest import World
from tests.factories import (
    NOON,
    GardenFactory,
    MembershipFactory,
    PersonFactory,
    PlaceFactory,
    SiteFactory,
    a_plant,
    a_sowing,
    a_task,
)
from tests.reminders.calendars import address_of, by_icalendar, by_vobject, in_words, read

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


def a_turn(who: Membership, site: Site, first: date, last: date) -> OnCallTurn:
    return OnCallTurn.objects.create(
        garden=site.garden, site=site, person=who.person, first_day=first, last_day=last
    )


def test_a_task_is_a_whole_day_with_all_it_needs(world: World) -> None:
    task = a_task(world.plant, "cut_back")
    [(uid, event)] = read(address_of(world.member)).items()
    assert event == {
        "starts": date(2026, 10, 10),
        "ends": date(2026, 10, 11),
        "summary": "Cut back: Cayenne by the gate, Bed 3",
        "description": event["description"],
        "location": "Bed 3, Canal bank",
        "status": "CONFIRMED",
        "transp": "TRANSPARENT",
        "url": f"http://127.0.0.1:8000/g/northfield/tasks/{task.pk}",
        "categories": ["Northfield", "Garden work"],
        "sequence": 0,
        "stamped": NOON,
        "made": NOON,
        "changed": NOON,
    }
    lines = event["description"].split("\n")
    assert lines[0] == "Between 1 October and 20 October, best 10 October 2026."
    assert lines[1] == "Nights fall below 10 °C about 20 October."
    assert lines[2].startswith("Peppers burn: wear gloves")
    assert lines[-1] == event["url"]
    assert len(uid) == 36


def test_it_is_in_the_readers_units(world: World) -> None:
    a_task(world.plant, "cut_back")
    Person.objects.filter(pk=world.member.person_id).update(temperature="F")
    [event] = read(address_of(Person.objects.get(pk=world.member.person_id))).values()
    assert "Nights fall below 50 °F about 20 October." in event["description"]


def test_only_what_is_the_readers_own(world: World) -> None:
    theirs = a_plant(world.owner, world.bed, name="The owner's")
    a_task(theirs, "lift")
    a_task(world.plant, "lift", assignee=world.owner.person)
    a_task(theirs, "cut_back", assignee=world.member.person)
    a_turn(world.owner, world.site, NOON.date(), NOON.date())
    found = read(address_of(world.member))
    assert [row["summary"] for row in found.values()] == ["Cut back: The owner's, Bed 3"]
    text = feed(address_of(world.member), now=NOON).decode()
    for other in (world.owner, world.coordinator, world.committee):
        assert str(other.person.email) not in text
        assert f"by {other.person.name}" not in text


def test_all_gardens_of_today_and_no_other(world: World) -> None:
    there = MembershipFactory(garden=GardenFactory(name="Southfield"), person=world.member.person)
    site = SiteFactory(garden=there.garden, name="Terrace")
    a_task(a_plant(there, PlaceFactory(site=site), name="Away"), "lift")
    a_task(world.plant, "cut_back")
    address = address_of(world.member)
    assert len(read(address)) == 2
    Membership.objects.filter(pk=there.pk).update(left_on=NOON.date())
    # Of a garden that one has left nothing stays, not even as cancelled.
    assert in_words(read(address)) == [
        ("2026-10-10", "CONFIRMED", "Cut back: Cayenne by the gate, Bed 3")
    ]


def test_a_bed_of_plants_on_one_day_is_one_event(world: World) -> None:
    plants = [a_plant(world.member, world.bed, name=f"Plant {n:02}") for n in range(40)]
    for plant in plants:
        a_task(plant, "lift")
    for plant in plants[:3]:
        a_task(plant, "cut_back", best=date(2026, 10, 12))
    sowing = a_sowing(world.member, world.bench)
    a_task(sowing, "pot_up")
    found = read(address_of(world.member))
    assert in_words(found) == [
        ("2026-10-10", "CONFIRMED", "Lift: 40 plants, Bed 3"),
        ("2026-10-10", "CONFIRMED", f"Pot up: Cayenne sowing {sowing.code}, Raising bench"),
        ("2026-10-12", "CONFIRMED", "Cut back: 3 plants, Bed 3"),
    ]
    [lift] = [row for row in found.values() if row["summary"].startswith("Lift")]
    assert f"To do: Plant 00 ({plants[0].code}), Plant 01" in lift["description"]
    assert "and 20 more." in lift["description"]
    assert lift["url"].endswith(f"/tasks?kind=lift&place={world.bed.pk}&whose=1")


def test_done_work_stays_as_done(world: World) -> None:
    plants = [a_plant(world.member, world.bed, name=f"Plant {n}") for n in range(3)]
    tasks = [a_task(plant, "lift") for plant in plants]
    address = address_of(world.member)
    [before] = read(address)
    done = {"state": "done", "closed_at": NOON, "closed_by": world.owner.person}
    Task.objects.filter(pk=tasks[0].pk).update(**done)
    later = NOON + DAY
    [(uid, event)] = read(address, later).items()
    assert (uid, event["sequence"], event["changed"]) == (before, 1, later)
    assert event["summary"] == "Lift: 3 plants, Bed 3 (1 of 3 done)"
    Task.objects.filter(kind="lift").update(**done)
    # Whoever holds the plants by now: it was this person's work, and it is done.
    Plant.objects.filter(pk__in=[plant.pk for plant in plants]).update(
        holder=world.owner.person, place=world.quarters
    )
    [(uid, event)] = read(address, later + DAY).items()
    assert (uid, event["sequence"], event["status"]) == (before, 2, "CONFIRMED")
    assert event["summary"] == "Done: Lift: 3 plants"
    assert event["location"] == "Canal bank"
    assert read(address, NOON + 59 * DAY) != {}
    assert read(address, NOON + 61 * DAY) == {}
    assert not CalendarItem.objects.exists()


def test_withdrawn_impossible_and_given_away_work_is_cancelled(world: World) -> None:
    tasks = {kind: a_task(world.plant, kind) for kind in ("lift", "cut_back", "mulch", "wake")}
    address = address_of(world.member)
    read(address)
    Task.objects.filter(pk=tasks["lift"].pk).update(state="withdrawn", closed_at=NOON)
    cannot_do(world.member, tasks["cut_back"], "It was stolen.", now=NOON)
    give(world.coordinator, tasks["mulch"], world.owner.person, now=NOON)
    later = NOON + DAY
    found = read(address, later)
    by_kind = {
        row["summary"].split(": ")[-2].removeprefix("Cancelled: "): row for row in found.values()
    }
    for kind in ("Lift", "Cut back", "Mulch"):
        event = by_kind[kind]
        assert (event["status"], event["sequence"], event["changed"]) == ("CANCELLED", 1, later)
        assert event["summary"].startswith(f"Cancelled: {kind}: ")
        assert event["description"].startswith("No longer planned, or no longer yours.\n")
        assert event["starts"] == date(2026, 10, 10)
        assert "stolen" not in str(event)
    assert by_kind["Wake"]["status"] == "CONFIRMED"
    assert read(address, later) == found
    Task.objects.filter(kind="wake").update(best="2026-12-31", latest="2026-12-31")
    assert len(read(address, later + 60 * DAY)) == 4
    assert len(read(address, later + 61 * DAY)) == 1


def test_work_that_was_never_shown_is_not_cancelled(world: World) -> None:
    a_task(world.plant, "lift", state="withdrawn", closed_at=NOON)
    assert read(address_of(world.member)) == {}


def test_moved_work_keeps_its_identity(world: World) -> None:
    plants = [a_plant(world.member, world.bed, name=f"Plant {n}") for n in range(5)]
    tasks = [a_task(plant, "lift") for plant in plants]
    address = address_of(world.member)
    [uid] = read(address)
    moved = {"best": date(2026, 10, 13)}
    Task.objects.filter(kind="lift").update(**moved)
    [(same, event)] = read(address).items()
    assert (same, event["starts"], event["sequence"]) == (uid, date(2026, 10, 13), 1)
    # Most of a group goes on under its identity; what splits off is new.
    Task.objects.filter(pk__in=[task.pk for task in tasks[:2]]).update(best=date(2026, 10, 15))
    found = read(address)
    assert found[uid]["summary"] == "Lift: 3 plants, Bed 3"
    [other] = set(found) - {uid}
    assert (found[other]["summary"], found[other]["sequence"]) == ("Lift: 2 plants, Bed 3", 0)
    # Together again: the smaller one is cancelled, and comes back when it is planned again.
    Task.objects.filter(kind="lift").update(**moved)
    found = read(address)
    assert (found[uid]["sequence"], found[uid]["status"]) == (3, "CONFIRMED")
    assert (found[other]["sequence"], found[other]["status"]) == (1, "CANCELLED")


def test_work_opened_again_comes_back_under_its_identity(world: World) -> None:
    task = a_task(world.plant, "lift")
    address = address_of(world.member)
    [uid] = read(address)
    Task.objects.filter(pk=task.pk).update(state="withdrawn", closed_at=NOON)
    assert read(address)[uid]["status"] == "CANCELLED"
    Task.objects.filter(pk=task.pk).update(state="open", closed_at=None)
    [(same, event)] = read(address).items()
    assert (same, event["status"], event["sequence"]) == (uid, "CONFIRMED", 2)
    assert not event["summary"].startswith("Cancelled")


def test_reading_again_changes_nothing(world: World) -> None:
    a_task(world.plant, "lift")
    a_turn(world.member, world.site, NOON.date(), NOON.date() + 6 * DAY)
    address = address_of(world.member)
    assert feed(address, now=NOON) == feed(address, now=NOON + DAY)


def test_long_foreign_and_awkward_words_come_back_whole(world: World) -> None:
    name = "Žlutý „kapie“, ostrý; půl\\napůl – 辣椒 🌶 " + "ß" * 20
    Plant.objects.filter(pk=world.plant.pk).update(name=name[:60])
    a_task(world.plant, "cut_back", reason="Čím dřív, tím líp; viz „Řez\\“: " + "žluť " * 60)
    text = feed(address_of(world.member), now=NOON)
    [event] = by_icalendar(text.decode()).values()
    assert name[:60] in event["summary"]
    assert "viz „Řez\\“: " + "žluť " * 59 in event["description"]
    assert by_icalendar(text.decode()) == by_vobject(text.decode())
    lines = text.split(b"\r\n")
    assert max(map(len, lines)) <= 75
    assert b"\n" not in text.replace(b"\r\n", b"")
    # No character is torn in two.
    assert all(line.decode() for line in lines[:-1])


def test_control_characters_do_not_break_a_line(world: World) -> None:
    a_task(world.plant, "cut_back", reason="One\x07two\r\nBEGIN:VEVENT\x0bthree\x1f.")
    found = read(address_of(world.member))
    [event] = found.values()
    assert "One two \nBEGIN:VEVENT three ." in event["description"]


def test_the_calendar_says_what_it_is(world: World) -> None:
    text = feed(address_of(world.member), now=NOON).decode()
    calendar = icalendar.Calendar.from_ical(text)
    assert calendar["name"] == calendar["x-wr-calname"] == "My garden work"
    assert "It may take a day to update; frost messages do not come this way." in str(
        calendar["description"]
    )
    assert "REFRESH-INTERVAL;VALUE=DURATION:PT12H\r\n" in text
    assert "X-PUBLISHED-TTL:PT12H\r\n" in text
    assert vobject.readOne(text).version.value == "2.0"
    assert "METHOD" not in text


def test_as_many_queries_for_five_hundred_tasks_as_for_five(world: World) -> None:
    address = address_of(world.member)

    def count() -> int:
        feed(address, now=NOON)
        with CaptureQueriesContext(
            connection,
        ) as asked:
            feed(address, now=NOON)
        return len(asked)

    for n in range(5):
        a_task(a_plant(world.member, world.bed, name=f"Plant {n}"), "lift")
    few = count()
    five = Plant.objects.filter(name__startswith="Plant ")
    Task.objects.bulk_create(
        Task(
            **{name: getattr(task, name) for name in _COPIED},
            kind=kind,
            best=task.best + n * DAY,
            earliest=task.earliest,
            latest=task.latest + n * DAY,
            number=n + 2,
        )
        for task in Task.objects.filter(plant__in=five)
        for kind in ("water_in", "tie")
        for n in range(50)
    )
    assert Task.objects.count() == 505
    started = time.perf_counter()
    assert count() == few
    assert time.perf_counter() - started < 3
    assert len(read(address)) == 101


_COPIED = (
    "garden_id",
    "site_id",
    "plant_id",
    "growing_year",
    "counts_from",
    "reason",
    "source",
    "made_at",
)


class TestSequence(TestCase):
    """However the plan walks, no event's number ever falls, and every open task is shown."""

    @settings(max_examples=15)
    @given(
        st.lists(
            st.tuples(
                st.integers(0, 5),
                st.sampled_from(["move", "withdraw", "open", "done", "give", "take"]),
                st.integers(0, 3),
            ),
            min_size=1,
            max_size=12,
        ),
        st.lists(st.booleans(), min_size=12, max_size=12),
    )
    def test_never_falls(self, acts: list[tuple[int, str, int]], looks: list[bool]) -> None:
        member = MembershipFactory()
        site = SiteFactory(garden=member.garden)
        bed = PlaceFactory(site=site)
        other = PersonFactory()
        tasks = [a_task(a_plant(member, bed, name=f"P{n}"), "lift") for n in range(6)]
        address = address_of(member)
        before = read(address)
        for step, ((which, act, by), look) in enumerate(zip(acts, looks, strict=False), 1):
            change = {
                "move": {"best": date(2026, 10, 10) + by * DAY},
                "withdraw": {"state": "withdrawn", "closed_at": NOON},
                "open": {"state": "open", "closed_at": None},
                "done": {"state": "done", "closed_at": NOON},
                "give": {"assignee": other},
                "take": {"assignee": None},
            }[act]
            Task.objects.filter(pk=tasks[which].pk).update(**change)
            if look:
                after = read(address, NOON + timedelta(minutes=step))
                _no_step_back(before, after)
                before = after
        _shows_all_open(member, before if looks[len(acts) - 1] else read(address))


def _no_step_back(before: dict[str, dict], after: dict[str, dict]) -> None:
    assert set(before) <= set(after)
    for uid, event in before.items():
        now = after[uid]
        if now == event:
            continue
        assert now["sequence"] == event["sequence"] + 1
        assert now["changed"] > event["changed"]


def _shows_all_open(member: Membership, found: dict[str, dict]) -> None:
    items = CalendarItem.objects.filter(person=member.person, gone_at__isnull=True)
    parts = [part for item in items for part in item.parts]
    assert len(parts) == len(set(parts))
    mine = Task.objects.filter(state="open", assignee=None)
    assert {f"task:{task.pk}" for task in mine} <= set(parts)
    for item in items:
        for task in mine.filter(pk__in=[part.split(":")[1] for part in item.parts]):
            assert found[str(item.uid)]["starts"] == task.best

"""What the weekly message says: late, due, day by day, frost, gaps; never nothing."""

from datetime import date, datetime

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from lifecycle.models import (
    Ask,
    ForecastSource,
    FrostNight,
    Membership,
    Message,
    Person,
    Plant,
    Site,
    Task,
)
from lifecycle.records.secrets import new_nonce
from lifecycle.reminders.messages.composing import Composed
from lifecycle.reminders.messages.digest import digest_all
from lifecycle.reminders.messages.digest_words import LISTED, week
from lifecycle.reminders.messages.dispatch import dispatch_all
from lifecycle.reminders.work.garden_gaps import in_frost_season
from lifecycle.reminders.work.planning import climate_of
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, SiteFactory, VarietyFactory, a_plant, a_task
from tests.reminders.climates import DAY, at, give_climate
from tests.reminders.frost_nights import a_night, a_turn

pytestmark = pytest.mark.django_db
SUNDAY = date(2026, 10, 11)
EVENING = at(SUNDAY, 18)


def lines_of(composed: Composed) -> list[str]:
    return [line.text for line in composed.lines]


def told(member: Membership, now: datetime = EVENING) -> list[str]:
    """The lines of a member's weekly message."""
    message = Message(garden=member.garden, person=member.person, for_day=now.date())
    return lines_of(week(message, now))


def test_what_falls_due_stands_under_its_day(world: World) -> None:
    """Late first, then what is to be had now, then day by day; a group in one line."""
    plants = [a_plant(world.member, world.bed, name=name) for name in ("First", "Second")]
    dates = {"earliest": date(2026, 10, 13), "best": date(2026, 10, 15)}
    for plant in plants:
        a_task(plant, "lift", **dates, latest=date(2026, 10, 20))
    a_task(world.plant, "cut_back", latest=date(2026, 10, 10))
    a_task(world.plant, "pest_check", latest=date(2026, 10, 25))
    last, after = SUNDAY + 7 * DAY, SUNDAY + 8 * DAY
    a_task(world.plant, "last_pick", earliest=last, best=last, latest=last)
    a_task(world.plant, "backup", earliest=after, best=after, latest=after)
    a_task(a_plant(world.owner, world.bed), "lift")
    assert told(world.member)[:-1] == [
        "Late",
        "Cut back: Cayenne by the gate, Bed 3: was due by 10 October.",
        "Due now",
        "Check for pests and clean up: Cayenne by the gate, Bed 3: by 25 October.",
        "Tuesday 13 October",
        "Lift: 2 plants, Bed 3 (First, Second): by 20 October.",
        "Sunday 18 October",
        "Last pick: Cayenne by the gate, Bed 3: by 18 October.",
    ]


def test_it_is_never_empty(world: World) -> None:
    assert told(world.member)[0] == "Nothing is planned for you in the next 30 days."
    a_task(world.plant, "lift", earliest=date(2026, 10, 20), best=date(2026, 10, 20))
    assert told(world.member)[0] == (
        "Nothing falls due for you in the next seven days. Next: lift: Cayenne by the gate, "
        "from 20 October."
    )


@pytest.mark.parametrize(
    ("tasks", "late", "subject"),
    [
        (0, 0, "Northfield: nothing falls due for you in the next seven days"),
        (1, 0, "Northfield: 1 thing to do in the next seven days"),
        (2, 0, "Northfield: 2 things to do in the next seven days"),
        (1, 1, "Northfield: 1 thing to do in the next seven days, 1 late"),
        (3, 2, "Northfield: 3 things to do in the next seven days, 2 late"),
    ],
)
def test_the_subject_counts(world: World, tasks: int, late: int, subject: str) -> None:
    for number in range(tasks):
        latest = date(2026, 10, 10) if number < late else date(2026, 10, 20)
        a_task(a_plant(world.member, world.bed), "lift", latest=latest)
    message = Message(garden=world.garden, person=world.member.person, for_day=SUNDAY)
    composed = week(message, EVENING)
    assert composed.subject == composed.short == subject


def test_a_long_week_is_cut_with_a_count(world: World) -> None:
    for number in range(LISTED + 3):
        bed = world.bed.__class__.objects.create(
            garden=world.garden, site=world.site, name=f"Strip {number}", kind="bed"
        )
        a_task(a_plant(world.member, bed), "lift")
    lines = told(world.member)
    assert sum(line.startswith("Lift:") for line in lines) == LISTED
    assert "And 3 more, on the page." in lines


def test_frost_that_is_feared_is_told_with_its_chance(world: World) -> None:
    for day, state in ((11, "possible"), (13, "possible"), (12, "quiet"), (10, "possible")):
        a_night(world.site, night=date(2026, 10, day), state=state)
    Person.objects.filter(pk=world.member.person_id).update(temperature="F")
    world.member.person.refresh_from_db()
    lines = told(world.member)
    assert lines[:3] == [
        "Frost",
        "Frost likely on the night of Sunday 11 October at Canal bank: likely lowest 30 °F, "
        "frost 9 in 10",
        "Frost likely on the night of Tuesday 13 October at Canal bank: likely lowest 30 °F, "
        "frost 9 in 10",
    ]


def an_answer(night: FrostNight, member: Membership, state: str) -> None:
    Ask.objects.create(
        garden_id=night.garden_id,
        frost_night=night,
        person=member.person,
        rung=1,
        state=state,
        nonce=new_nonce(),
        asked_at=NOON,
        answer_by=NOON,
    )


@pytest.mark.parametrize(
    ("day", "state", "known", "asked"),
    [
        (10, "accepted", False, True),
        (4, "accepted", False, True),
        (3, "accepted", False, False),
        (11, "accepted", False, False),
        (10, "declined", False, False),
        (10, "accepted", True, False),
    ],
)
def test_who_went_out_is_asked_what_happened(
    world: World, day: int, state: str, known: bool, asked: bool
) -> None:
    night = a_night(
        world.site, night=date(2026, 10, day), state="over", outcome_at=NOON if known else None
    )
    an_answer(night, world.member, state)
    message = Message(garden=world.garden, person=world.member.person, for_day=SUNDAY)
    found = [line for line in week(message, EVENING).lines if "What happened" in line.text]
    assert bool(found) is asked
    for line in found:
        assert line.text == f"What happened on the night of {day} October? One tap tells."
        assert line.url.endswith(f"/g/northfield/frost/{world.site.pk}/2026-10-{day:02}")


def test_coordinators_read_of_gaps(world: World) -> None:
    for member in (world.coordinator, world.owner):
        assert "Nothing is missing: every task and plant has somebody." in told(member)
    assert "For coordinators" not in told(world.member)
    orphan = a_plant(world.owner, world.bed, holder=None)
    a_task(orphan, "lift", earliest=SUNDAY + 7 * DAY, best=SUNDAY + 7 * DAY)
    a_task(orphan, "cut_back", earliest=SUNDAY + 8 * DAY, best=SUNDAY + 8 * DAY)
    a_task(world.plant, "pest_check", latest=SUNDAY - DAY, raised_on=SUNDAY, offered_on=SUNDAY)
    Message.objects.create(
        garden=world.garden,
        person=world.member.person,
        key="failed",
        channel="email",
        for_day=SUNDAY,
        not_before=NOON,
        expires_at=NOON,
        made_at=NOON,
        state="failed",
    )
    ForecastSource.objects.create(garden=world.garden, site=world.site, set_at=NOON, failures=2)
    lines = told(world.coordinator)
    assert lines[lines.index("For coordinators") + 1 : -1] == [
        "1 task due within a week has nobody.",
        "1 task is past its last day.",
        "1 of them was offered and nobody took it.",
        "1 plant has no holder.",
        "1 message did not arrive.",
        "1 forecast cannot be fetched.",
    ]
    assert not any("has nobody" in line for line in told(world.member))


@pytest.mark.parametrize(
    ("today", "season"),
    [
        (date(2026, 10, 6), False),
        (date(2026, 10, 7), True),
        (date(2026, 12, 24), True),
        (date(2027, 4, 20), True),
        (date(2027, 4, 21), False),
    ],
)
def test_gaps_of_the_rota_count_in_the_frost_season(
    world: World, today: date, season: bool
) -> None:
    give_climate(world, first_freeze="10-14", last_freeze="04-20")
    site = Site.objects.get(pk=world.site.pk)
    dates = climate_of(site).dates
    assert dates is not None
    # Typed dates get a margin; the season is told from those in use.
    month, day = dates.first_freeze_risk or (0, 0)
    shift = date(2026, 10, 14) - date(2026, month, day)
    month, day = dates.last_freeze_risk or (0, 0)
    later = date(2027, month, day) - date(2027, 4, 20)
    shown = today - shift if today.year == 2026 else today + later
    assert in_frost_season(site, shown) is season


def test_days_without_anybody_on_call_are_named(world: World) -> None:
    a_night(world.site, night=SUNDAY, state="possible")
    a_turn(world.site, world.member.person, first_day=SUNDAY, last_day=SUNDAY + 3 * DAY)
    assert "Nobody is on call at Canal bank, 15 to 17 October." in told(world.coordinator)
    Plant.objects.update(phase="ended")
    FrostNight.objects.all().delete()
    assert not any("on call" in line for line in told(world.coordinator))


def test_gardens_are_told_apart(world: World) -> None:
    elsewhere = MembershipFactory(person=world.member.person)
    site = SiteFactory(garden=elsewhere.garden, name="Other bank")
    plant = a_plant(
        elsewhere,
        world.bed.__class__.objects.create(
            garden=elsewhere.garden, site=site, name="Strip", kind="bed"
        ),
        variety=VarietyFactory(garden=elsewhere.garden),
    )
    a_task(plant, "lift")
    a_night(site, night=SUNDAY, state="possible")
    assert told(world.member)[0] == "Nothing is planned for you in the next 30 days."
    assert len(told(elsewhere)) == 5


def test_it_goes_out_by_mail(world: World, mailoutbox: list) -> None:
    a_task(world.plant, "lift")
    digest_all(now=EVENING)
    dispatch_all(now=EVENING)
    [mail] = [each for each in mailoutbox if each.to == [world.member.person.email]]
    assert mail.subject == "Northfield: 1 thing to do in the next seven days"
    assert "Lift: Cayenne by the gate, Bed 3: by 20 October." in mail.body
    assert "/g/northfield/tasks\n" in mail.body
    assert f"/tasks/{Task.objects.get().pk}" not in mail.body


def test_the_queries_do_not_grow_with_the_tasks(world: World) -> None:
    message = Message(garden=world.garden, person=world.coordinator.person, for_day=SUNDAY)

    def queries(plants: int) -> int:
        for _ in range(plants):
            plant = a_plant(world.coordinator, world.bed)
            a_task(plant, "lift")
            a_task(plant, "cut_back", latest=date(2026, 10, 10))
        with CaptureQueriesContext(connection) as found:
            week(message, EVENING)
        return len(found)

    assert queries(2) == queries(30)

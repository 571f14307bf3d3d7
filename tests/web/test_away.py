"""Away: days, who covers, one tap to agree, back early."""

from collections.abc import Callable

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from lifecycle.models import Away, Membership, Message
from lifecycle.records.work.away import go_away
from lifecycle.reminders.ticks import dispatch_tick
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, a_task
from tests.records.works import TODAY
from tests.reminders.climates import DAY

SignIn = Callable[..., Client]


@pytest.fixture
def ana(world: World) -> Membership:
    return MembershipFactory(garden=world.garden, person__name="Ana")


@pytest.fixture
def client(world: World, as_person: SignIn) -> Client:
    return as_person(world.member)


def days(first: str = "2026-10-14", last: str = "2026-10-20", **more: object) -> dict[str, object]:
    return {"act": "go", "away-first_day": first, "away-last_day": last, **more}


def test_a_cover_is_asked_agrees_and_gets_the_work(
    world: World, client: Client, ana: Membership, as_person: SignIn
) -> None:
    page, task = f"{world.address}away", a_task(world.plant, "lift", best=TODAY)
    saved = client.post(page, days(**{"away-cover": ana.person_id}), follow=True).content.decode()
    assert "Away today: Member" in saved
    assert "Ana is asked to cover, no answer yet" in saved
    dispatch_tick(now=NOON)
    asked = Message.objects.get(person=ana.person, channel="email")
    assert asked.subject == "Northfield: would you cover for Member, 14 to 20 October?"
    other, away = as_person(ana), Away.objects.get()
    assert "I cover" in other.get(page).content.decode()
    other.post(page, {"act": "agree", "away": away.pk})
    task.refresh_from_db()
    assert task.assignee == ana.person
    shown = client.get(f"{world.address}tasks/{task.pk}").content.decode()
    assert "Member, who minds it, is away: it went to Ana." in shown
    dispatch_tick(now=NOON)
    told = Message.objects.get(person=world.member.person, about="cover_answer", channel="email")
    assert told.subject == "Northfield: Ana covers for you, 14 to 20 October"
    client.post(page, {"act": "come_back", "away": away.pk})
    task.refresh_from_db()
    assert task.assignee is None
    shown = client.get(f"{world.address}tasks/{task.pk}").content.decode()
    assert "It is with Member again." in shown


def test_who_says_no_leaves_room_for_another(
    world: World, client: Client, ana: Membership, as_person: SignIn
) -> None:
    page = f"{world.address}away"
    client.post(page, days(**{"away-cover": ana.person_id}))
    away = Away.objects.get()
    as_person(ana).post(page, {"act": "say_no", "away": away.pk})
    text = client.get(page).content.decode()
    assert "Nobody covers" in text
    assert "Ask to cover" in text
    client.post(page, {"act": "ask", "away": away.pk, "ask-cover": world.owner.person_id})
    away.refresh_from_db()
    assert away.cover == world.owner.person
    refused = as_person(ana).post(page, {"act": "agree", "away": away.pk})
    assert "You are not asked to cover these days." in refused.content.decode()


def test_a_coordinator_enters_days_for_a_member(
    world: World, client: Client, as_person: SignIn
) -> None:
    page, lead = f"{world.address}away", as_person(world.coordinator)
    assert "Who is away" not in client.get(page).content.decode()
    client.post(page, days(**{"away-person": world.owner.person_id}))
    assert Away.objects.get().person == world.member.person
    lead.post(page, days(**{"away-person": world.owner.person_id}))
    assert Away.objects.filter(person=world.owner.person).exists()
    away = Away.objects.get(person=world.member.person)
    lead.post(page, {"act": "come_back", "away": away.pk})
    assert not Away.objects.filter(person=world.member.person).exists()


def test_wrong_days_and_people_are_said_at_their_field(world: World, client: Client) -> None:
    page = f"{world.address}away"
    for data in (
        days(last="2026-10-01"),
        days(first=""),
        days(first="soon"),
        days(last="2029-01-01"),
        days(**{"away-cover": world.outsider.pk}),
        days(**{"away-cover": world.committee.person_id}),
        days(**{"away-cover": world.member.person_id}),
        days(**{"away-cover": "\x00"}),
    ):
        assert client.post(page, data).status_code == 422, data
    assert not Away.objects.exists()
    for act in ("agree", "say_no", "come_back", "ask"):
        for number in ("x", "0", "9" * 30):
            assert client.post(page, {"act": act, "away": number}).status_code == 404
    assert client.post(page, {"act": "x"}).status_code in (200, 404)


def test_who_may_open_it(world: World, as_person: SignIn) -> None:
    page = f"{world.address}away"
    assert as_person(world.committee).get(page).status_code == 403
    assert as_person(world.outsider).get(page).status_code == 404


def test_both_read_how_many_tasks_pass_and_when(
    world: World, client: Client, ana: Membership, as_person: SignIn
) -> None:
    page = f"{world.address}away"
    for kind, day in (("lift", 16), ("cut_back", 18), ("label_check", 25)):
        best = TODAY.replace(day=day)
        a_task(world.plant, kind, earliest=best, best=best, latest=best)
    said = "As planned now it is 2 tasks. They pass on 15 October, when the days begin."
    asked = days("2026-10-15", **{"away-cover": ana.person_id})
    assert said in client.post(page, asked, follow=True).content.decode()
    assert said in as_person(ana).get(page).content.decode()
    dispatch_tick(now=NOON)
    told = Message.objects.get(person=ana.person, channel="email")
    assert said in " ".join(told.body.split())
    as_person(ana).post(page, {"act": "agree", "away": Away.objects.get().pk})
    assert said in client.get(page).content.decode()
    dispatch_tick(now=NOON)
    told = Message.objects.get(person=world.member.person, about="cover_answer", channel="email")
    assert said in " ".join(told.body.split())


def test_days_that_have_begun_pass_with_a_yes(
    world: World, client: Client, ana: Membership, as_person: SignIn
) -> None:
    page = f"{world.address}away"
    a_task(world.plant, "lift", best=TODAY)
    text = client.post(page, days(**{"away-cover": ana.person_id}), follow=True).content.decode()
    assert "it is 1 task. The days have begun: it passes with a yes." in text
    as_person(ana).post(page, {"act": "agree", "away": Away.objects.get().pk})
    assert "As planned now" not in client.get(page).content.decode()


def test_number_of_queries_does_not_grow(world: World, client: Client) -> None:
    seen = []
    for more in (2, 20):
        for _ in range(more):
            member = MembershipFactory(garden=world.garden)
            go_away(
                member,
                first_day=TODAY + DAY,
                last_day=TODAY + 2 * DAY,
                cover=world.owner.person,
                now=NOON,
            )
        with CaptureQueriesContext(connection) as queries:
            assert client.get(f"{world.address}away").status_code == 200
        seen.append(len(queries))
    assert seen[0] == seen[1] <= 8

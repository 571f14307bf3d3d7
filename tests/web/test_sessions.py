"""How long a session lasts, what ends it, and what it writes."""

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

import pytest
import time_machine
from django.contrib.sessions.models import Session
from django.core.management import call_command
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from lifecycle.models import Person
from lifecycle.records.people.letters import ask_for_link, is_open, link_path
from lifecycle.records.people.sessions import end_all, prune, seen
from tests.conftest import World
from tests.factories import NOON, PASSWORD, PersonFactory

SignIn = Callable[..., Client]
EMAIL = "member@garden.example"
DAY, HOUR, SECOND = timedelta(days=1), timedelta(hours=1), timedelta(seconds=1)
NEW = "three words together"


def signed_in(*, own: bool = False, email: str = EMAIL, password: str = PASSWORD) -> Client:
    client = Client()
    data = {"username": email, "password": password, **({"own_device": "on"} if own else {})}
    assert client.post("/sign-in", data).status_code == 302
    return client


def is_in(client: Client, at: datetime = NOON) -> bool:
    with time_machine.travel(at, tick=False):
        return client.get("/settings").status_code == 200


def statements(client: Client, address: str = "/sources") -> list[str]:
    with CaptureQueriesContext(connection) as queries:
        client.get(address)
    return [each["sql"] for each in queries if not each["sql"].startswith("SELECT")]


def test_signing_in_gives_a_new_session_key(world: World) -> None:
    client = Client()
    session = client.session
    session["planted"] = "by somebody else"
    session.save()
    planted = client.cookies["sessionid"] = session.session_key
    client.post("/sign-in", {"username": EMAIL, "password": PASSWORD})
    assert client.cookies["sessionid"].value != planted
    other = Client()
    other.cookies["sessionid"] = planted
    assert not is_in(other)


def test_a_mailed_link_gives_a_new_session_key_too(world: World) -> None:
    client = Client()
    session = client.session
    session["planted"] = "by somebody else"
    session.save()
    planted = client.cookies["sessionid"] = session.session_key
    client.post(link_path(ask_for_link(EMAIL, now=NOON)))
    assert client.cookies["sessionid"].value != planted
    assert is_in(client)


def test_twelve_hours_on_a_device_of_nobodys_own(world: World) -> None:
    client = signed_in()
    assert client.cookies["sessionid"]["max-age"] == 12 * 3600
    assert is_in(client, NOON + 12 * HOUR - SECOND)
    assert not is_in(client, NOON + 12 * HOUR + SECOND)


def test_writing_to_the_session_does_not_prolong_the_twelve_hours(world: World) -> None:
    client = signed_in()
    with time_machine.travel(NOON + 11 * HOUR, tick=False):
        assert client.post("/sign-in/again", {"password": PASSWORD}).status_code == 302
        session = client.session
        session["anything"] = 1
        session.save()
        assert client.session.get_expiry_age() <= 12 * 3600
    assert not is_in(client, NOON + 23 * HOUR + SECOND)


def test_ninety_days_on_ones_own_phone(world: World) -> None:
    client = signed_in(own=True)
    assert client.cookies["sessionid"]["max-age"] == 90 * 86_400
    assert is_in(client, NOON + 90 * DAY - SECOND)
    untouched = signed_in(own=True)
    assert not is_in(untouched, NOON + 90 * DAY + SECOND)


def test_the_ninety_days_begin_anew_with_every_day_of_use(world: World) -> None:
    client = signed_in(own=True)
    for days in range(60, 720, 60):
        assert is_in(client, NOON + days * DAY), days
    assert not is_in(client, NOON + (660 + 91) * DAY)


def test_the_second_phone_rolls_on_though_the_first_was_used_that_day(world: World) -> None:
    first, second = signed_in(own=True), signed_in(own=True)
    assert is_in(first, NOON + 60 * DAY)
    assert is_in(second, NOON + 60 * DAY)
    assert is_in(second, NOON + 120 * DAY)


def test_a_day_costs_one_write_to_person_and_session_and_no_page_more(world: World) -> None:
    client = signed_in(own=True)
    client.get("/sources")
    assert statements(client) == []
    with time_machine.travel(NOON + DAY, tick=False):
        first = statements(client)
        assert [each.split('"')[1] for each in first if each.startswith("UPDATE")] == [
            "lifecycle_person",
            "django_session",
        ]
        assert statements(client) == []
        person = Person.objects.get(email=EMAIL)
        assert person.last_seen_on == (NOON + DAY).date()


def test_on_a_shared_device_a_page_never_writes_to_the_session(world: World) -> None:
    client = signed_in()
    with time_machine.travel(NOON + 12 * HOUR - SECOND, tick=False):
        assert not any("django_session" in each for each in statements(client))


def test_when_somebody_was_last_here_never_goes_back(world: World) -> None:
    person = world.member.person
    seen(person, NOON.date() + DAY)
    seen(person, NOON.date())
    person.refresh_from_db()
    assert person.last_seen_on == NOON.date() + DAY


def test_strangers_leave_no_trace(world: World) -> None:
    with CaptureQueriesContext(connection) as queries:
        Client().get("/sign-in/link")
        Client().get("/settings")
    assert not any(each["sql"].startswith(("INSERT", "UPDATE")) for each in queries)
    assert not Session.objects.exists()


def test_signing_out_everywhere_ends_every_session_at_once(world: World) -> None:
    here, phone, other = signed_in(), signed_in(own=True), signed_in(email="owner@garden.example")
    waiting = ask_for_link(EMAIL, now=NOON)
    code = link_path(waiting).rpartition("/")[2]
    text = here.get("/settings").content.decode()
    assert 'action="/settings/sign-out-everywhere"' in text
    answer = here.post("/settings/sign-out-everywhere", follow=True)
    assert "You are signed out on every device." in answer.content.decode()
    assert not is_in(here)
    assert not is_in(phone)
    assert is_in(other)
    assert not is_open(waiting.pk, code, now=NOON)
    assert is_in(signed_in())


def test_signing_out_everywhere_is_no_link(world: World) -> None:
    client = signed_in()
    assert client.get("/settings/sign-out-everywhere").status_code == 405
    assert is_in(client)
    assert Client().post("/settings/sign-out-everywhere").status_code == 302


def test_signing_out_here_leaves_the_other_device(world: World) -> None:
    here, phone = signed_in(), signed_in(own=True)
    here.post("/sign-out")
    assert not is_in(here)
    assert is_in(phone)


def test_a_changed_password_ends_other_sessions_and_keeps_this_one(world: World) -> None:
    here, phone = signed_in(own=True), signed_in(own=True)
    key = here.cookies["sessionid"].value
    data = {"old_password": PASSWORD, "new_password": NEW}
    answer = here.post("/settings/password", data, follow=True)
    assert "Your password is saved." in answer.content.decode()
    assert here.cookies["sessionid"].value != key
    assert is_in(here, NOON + 80 * DAY)
    assert not is_in(phone)
    assert Client().post("/sign-in", {"username": EMAIL, "password": PASSWORD}).status_code == 422
    assert is_in(signed_in(password=NEW))


@pytest.mark.parametrize(
    ("data", "said"),
    [
        ({"old_password": "not mine", "new_password": NEW}, "This is not your password."),
        ({"old_password": "", "new_password": NEW}, "Your password until now: give an answer."),
        ({"old_password": PASSWORD, "new_password": ""}, "New password: give an answer."),
        ({"old_password": PASSWORD, "new_password": "short"}, "at least 8 characters"),
        ({"old_password": PASSWORD, "new_password": "password1"}, "too common"),
        ({"old_password": PASSWORD, "new_password": EMAIL}, "too similar"),
        ({"old_password": PASSWORD, "new_password": "a\x00bcdefghij"}, "Null characters"),
        ({}, "give an answer"),
    ],
)
def test_a_password_is_refused_with_a_sentence(
    world: World, data: dict[str, str], said: str
) -> None:
    here, phone = signed_in(), signed_in()
    answer = here.post("/settings/password", data)
    assert answer.status_code == 422
    assert said in answer.content.decode()
    assert PASSWORD not in answer.content.decode()
    assert is_in(here)
    assert is_in(phone)


def test_who_forgot_a_password_sets_a_new_one_with_a_mailed_link(world: World) -> None:
    client = Client()
    client.post(link_path(ask_for_link(EMAIL, now=NOON)))
    assert "until now" not in client.get("/settings/password").content.decode()
    client.post("/settings/password", {"new_password": NEW})
    assert is_in(signed_in(password=NEW))
    with time_machine.travel(NOON + HOUR, tick=False):
        assert "until now" in client.get("/settings/password").content.decode()


def test_who_has_no_password_sets_one_after_showing_who_they_are(
    world: World, as_person: SignIn
) -> None:
    person = PersonFactory(email="new@garden.example", password=None)
    client = as_person(person)
    answer = client.post("/settings/password", {"new_password": NEW})
    assert answer["Location"] == "/sign-in/again?next=%2Fsettings%2Fpassword"
    client.post(link_path(ask_for_link(person.email, now=NOON)))
    assert client.post("/settings/password", {"new_password": NEW}).status_code == 302
    assert is_in(signed_in(email=person.email, password=NEW))


def test_cookies_are_for_the_server_and_this_site_alone(world: World) -> None:
    client = signed_in()
    client.get("/settings")
    for name in ("sessionid", "csrftoken"):
        cookie = client.cookies[name]
        assert cookie["httponly"] is True
        assert cookie["samesite"] == "Lax"
        assert not cookie["domain"]


def test_over_https_cookies_never_go_without(world: World, settings: Any) -> None:
    settings.SESSION_COOKIE_SECURE = settings.CSRF_COOKIE_SECURE = True
    client = Client()
    client.get("/sign-in", secure=True)
    client.post("/sign-in", {"username": EMAIL, "password": PASSWORD}, secure=True)
    assert client.cookies["sessionid"]["secure"] is True
    assert client.cookies["csrftoken"]["secure"] is True


def test_an_ended_session_is_swept_away(world: World) -> None:
    signed_in()
    prune(now=NOON + 12 * HOUR)
    assert Session.objects.count() == 1
    prune(now=NOON + 12 * HOUR + SECOND)
    assert not Session.objects.exists()


def test_ending_all_leaves_nobody_elses_alone(world: World) -> None:
    mine, other = signed_in(), signed_in(email="owner@garden.example")
    end_all(world.member.person)
    assert not is_in(mine)
    assert is_in(other)


@pytest.mark.django_db
def test_no_check_complains() -> None:
    call_command("check", fail_level="WARNING")

"""Answering an ask from its address: one tap, no sign-in; looking changes nothing."""

import re
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from lifecycle.models import Ask, FrostNight, Membership, Message
from lifecycle.records.nights.asks import ask_path, place_ask
from lifecycle.records.secrets import code_for, new_nonce
from lifecycle.reminders.nights.asking import ask_all
from tests.conftest import World
from tests.reminders.frost_nights import (
    BEGIN,
    MINUTE,
    NIGHT,
    a_bed,
    a_night,
    asked,
    clock,
    on_call,
    told,
)

pytestmark = pytest.mark.django_db
SignIn = Callable[[object], Client]
AT = BEGIN + MINUTE


@pytest.fixture
def night(world: World) -> Any:
    """A called night: Ana and Ben were asked a minute ago; Cleo and Dan are on call too."""
    on_call(world.site, ["Ana", "Ben", "Cleo", "Dan"])
    night = a_night(world.site, people_needed=1)
    a_bed(night, world.bed)
    ask_all(now=BEGIN)
    with time_machine.travel(AT, tick=False):
        yield night


@pytest.fixture
def mailed() -> Client:
    """A browser without a single cookie, as a link in a mail opens it, that checks forgery."""
    return Client(enforce_csrf_checks=True)


def ask_of(name: str) -> Ask:
    return Ask.objects.get(person__name=name)


def everything() -> list[Any]:
    return [
        list(Ask.objects.order_by("pk").values()),
        list(FrostNight.objects.order_by("pk").values()),
        Message.objects.count(),
    ]


def test_looking_changes_nothing(night: FrostNight, mailed: Client) -> None:
    before = everything()
    address = ask_path(ask_of("Ana"))
    for _ in range(3):
        assert mailed.get(address).status_code == 200
        assert mailed.head(address).status_code == 200
    assert everything() == before
    assert not mailed.cookies


def test_the_page_says_all_and_offers_three_answers(night: FrostNight, mailed: Client) -> None:
    Ask.objects.filter(person__name="Ben").update(state="accepted", answered_at=AT)
    text = mailed.get(ask_path(ask_of("Ana"))).content.decode()
    for words in (
        *("Northfield", "Canal bank", "Bed 3", "17:35", "sunset 18:05", "7 in 10", "−1 °C"),
        *("Yes, I will come", "No, I cannot", "Pass it on", "1 needed", "Ben", "Cleo", "Dan"),
    ):
        assert words in text, words
    assert "Enough people said yes; you may still come." in text
    assert text.count("<h1>") == 1


def test_the_page_shows_nothing_personal(night: FrostNight, mailed: Client) -> None:
    text = mailed.get(ask_path(ask_of("Ana"))).content.decode()
    for hidden in ("@garden.example", "600 00", "/g/northfield", "Coordinator", "Owner"):
        assert hidden not in text, hidden


def test_one_tap_accepts(night: FrostNight, mailed: Client) -> None:
    address = ask_path(ask_of("Ana"))
    answer = mailed.post(address, {"act": "yes"})
    assert (answer.status_code, answer["Location"]) == (302, address)
    ask = ask_of("Ana")
    assert (ask.state, ask.answered_at) == ("accepted", AT)
    assert "You said yes. Thank you: please come by 17:35." in mailed.get(address).content.decode()


def test_a_no_is_thanked_and_the_next_are_asked_at_once(night: FrostNight, mailed: Client) -> None:
    for name in ("Ana", "Ben"):
        mailed.post(ask_path(ask_of(name)), {"act": "no"})
    text = mailed.get(ask_path(ask_of("Ana"))).content.decode()
    assert "You said no. Thank you for saying so: it saves time." in text
    assert asked(night) == ["Ana", "Ben", "Cleo", "Dan"]


def test_a_second_answer_changes_the_first(night: FrostNight, mailed: Client) -> None:
    address = ask_path(ask_of("Ana"))
    for act, state in (("yes", "accepted"), ("yes", "accepted"), ("no", "declined")):
        mailed.post(address, {"act": act})
        assert ask_of("Ana").state == state
    mailed.post(address, {"act": "yes"})
    assert ask_of("Ana").state == "accepted"


def test_one_more_than_needed_is_told_so_and_may_come(night: FrostNight, mailed: Client) -> None:
    for name in ("Ana", "Ben"):
        mailed.post(ask_path(ask_of(name)), {"act": "yes"})
    text = mailed.get(ask_path(ask_of("Ben"))).content.decode()
    assert "Enough people said yes, thank you. You may still come." in text


def test_passing_on_asks_the_other_person(night: FrostNight, mailed: Client) -> None:
    dan = night.site.on_call.get(person__name="Dan").person
    address = ask_path(ask_of("Ana"))
    assert mailed.post(address, {"act": "pass", "to": dan.pk}).status_code == 302
    assert ask_of("Ana").state == "passed_on"
    assert ask_of("Dan").state == "asked"
    assert told("frost_ask") == ["Ana", "Ben", "Dan"]
    text = mailed.get(address).content.decode()
    assert "You passed it on to Dan. Thank you." in text
    assert "Yes, I will come" in text


@pytest.mark.parametrize("to", ["Ben", "Member", "Outsider"])
def test_it_is_passed_only_to_who_is_on_call_and_was_not_asked(
    world: World, night: FrostNight, mailed: Client, to: str
) -> None:
    person = {
        "Ben": ask_of("Ben").person,
        "Member": world.member.person,
        "Outsider": world.outsider,
    }[to]
    answer = mailed.post(ask_path(ask_of("Ana")), {"act": "pass", "to": person.pk})
    assert answer.status_code == 422
    assert ask_of("Ana").state == "asked"


@pytest.mark.parametrize(
    "given",
    [
        {},
        {"act": "maybe"},
        {"act": "pass"},
        {"act": "pass", "to": "x"},
        {"act": "pass", "to": "9" * 40},
        {"act": "pass", "to": "0"},
    ],
)
def test_nonsense_is_refused_in_a_sentence(
    night: FrostNight, mailed: Client, given: dict[str, str]
) -> None:
    answer = mailed.post(ask_path(ask_of("Ana")), given)
    assert answer.status_code == 422
    assert 'role="alert"' in answer.content.decode()
    assert ask_of("Ana").state == "asked"


def test_at_night_nothing_is_passed_on(night: FrostNight, mailed: Client) -> None:
    dan = night.site.on_call.get(person__name="Dan").person
    with time_machine.travel(clock(22), tick=False):
        address = ask_path(ask_of("Ana"))
        assert "Pass it on" not in mailed.get(address).content.decode()
        answer = mailed.post(address, {"act": "pass", "to": dan.pk})
    assert answer.status_code == 422
    assert "please phone" in answer.content.decode().lower()


# --- wrong and dead addresses ----------------------------------------------------------------


def test_a_wrong_code_and_an_unknown_ask_are_the_same_nothing(
    night: FrostNight, mailed: Client
) -> None:
    ana, ben = ask_of("Ana"), ask_of("Ben")
    code = code_for("ask", ana.pk, ana.nonce)
    wrong = [
        f"/a/{ana.pk}/{code[:-1]}{'B' if code.endswith('A') else 'A'}",
        f"/a/{ana.pk}/{code.lower()}",
        f"/a/{ben.pk}/{code}",
        f"/a/{ana.pk}/{code_for('calendar', ana.pk, ana.nonce)}",
        f"/a/{ana.pk}/{code_for('ask', ana.pk, new_nonce())}",
        f"/a/{ana.pk}/x",
        f"/a/0/{code}",
        f"/a/{10**30}/{code}",
        f"/a/{ana.pk + 1000}/{code}",
    ]
    answers = [(mailed.get(each), mailed.post(each, {"act": "yes"})) for each in wrong]
    assert {answer.status_code for pair in answers for answer in pair} == {404}
    nonce = re.compile(rb'nonce="[^"]+"')
    bodies = {nonce.sub(b"", got.content) for got, _ in answers}
    assert len(bodies) == 1
    assert set(Ask.objects.values_list("state", flat=True)) == {"asked"}


def test_every_number_without_its_code_is_nothing(night: FrostNight, mailed: Client) -> None:
    code = code_for("ask", 1, new_nonce())
    assert {mailed.get(f"/a/{pk}/{code}").status_code for pk in range(1, 30)} == {404}


def test_a_new_key_keeps_the_links_that_are_out(
    night: FrostNight, mailed: Client, settings: Any
) -> None:
    address = ask_path(ask_of("Ana"))
    settings.SECRET_KEY_FALLBACKS = [settings.SECRET_KEY]
    settings.SECRET_KEY = "another-key-" * 5
    assert mailed.get(address).status_code == 200
    settings.SECRET_KEY_FALLBACKS = []
    assert mailed.get(address).status_code == 404


@pytest.mark.parametrize(
    ("act", "words"),
    [
        ("over", "This night is over"),
        ("next morning", "This night is over"),
        ("off", "Called off: nobody needs to come"),
        ("not needed", "A coordinator says: Too windy."),
        ("left", "This ask is no longer yours"),
        ("reads only", "This ask is no longer yours"),
    ],
)
def test_a_dead_link_says_why_and_writes_nothing(
    night: FrostNight, mailed: Client, act: str, words: str
) -> None:
    ana = ask_of("Ana")
    rows = FrostNight.objects.filter(pk=night.pk)
    member = Membership.objects.filter(person=ana.person)
    at = clock(7, day=NIGHT + timedelta(1)) if act == "next morning" else AT
    if act == "over":
        rows.update(state="over")
    elif act == "off":
        rows.update(state="cancelled")
    elif act == "not needed":
        rows.update(state="not_needed", dismissed_why="Too windy")
    elif act == "left":
        member.update(left_on=NIGHT)
    elif act == "reads only":
        member.update(role="committee")
    with time_machine.travel(at, tick=False):
        page = mailed.get(ask_path(ana))
        answer = mailed.post(ask_path(ana), {"act": "yes"})
    assert page.status_code == 200
    assert words in page.content.decode()
    assert "Yes, I will come" not in page.content.decode()
    assert answer.status_code == 422
    assert ask_of("Ana").state != "accepted"


def test_who_left_learns_nothing_more_of_the_garden(night: FrostNight, mailed: Client) -> None:
    ana = ask_of("Ana")
    Membership.objects.filter(person=ana.person).update(left_on=NIGHT)
    text = mailed.get(ask_path(ana)).content.decode()
    for hidden in ("Northfield", "Canal bank", "Bed 3", "Ben", "Cleo"):
        assert hidden not in text, hidden


def test_until_the_last_minute_of_the_night_an_answer_counts(
    night: FrostNight, mailed: Client
) -> None:
    with time_machine.travel(clock(6, 59, NIGHT + timedelta(1)), tick=False):
        assert mailed.post(ask_path(ask_of("Ana")), {"act": "yes"}).status_code == 302
    assert ask_of("Ana").state == "accepted"


def test_the_address_stays_out_of_caches_searches_and_referrers(
    night: FrostNight, mailed: Client
) -> None:
    address = ask_path(ask_of("Ana"))
    for answer in (
        mailed.get(address),
        mailed.post(address, {}),
        mailed.post(address, {"act": "yes"}),
    ):
        assert answer["Referrer-Policy"] == "no-referrer"
        assert answer["X-Robots-Tag"] == "noindex, nofollow"
        assert "no-store" in answer["Cache-Control"]
        assert answer["X-Frame-Options"] == "DENY"


@pytest.mark.parametrize("verb", ["put", "delete", "patch"])
def test_other_verbs_are_not_taken(night: FrostNight, mailed: Client, verb: str) -> None:
    assert getattr(mailed, verb)(ask_path(ask_of("Ana"))).status_code == 405


def test_the_page_costs_the_same_however_many_come(night: FrostNight, mailed: Client) -> None:
    address = ask_path(ask_of("Ana"))

    def queries() -> int:
        with CaptureQueriesContext(connection) as caught:
            mailed.get(address)
        return len(caught)

    few = queries()
    for member in on_call(night.site, [f"Person {n}" for n in range(12)], first=5):
        ask = place_ask(night, member.person, rung=1, answer_by=AT, now=AT)
        assert ask is not None
    Ask.objects.exclude(person__name="Ana").update(state="accepted", answered_at=AT)
    assert queries() == few

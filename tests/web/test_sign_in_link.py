"""Signing in with a mailed link: the same answer for everybody, once, for half an hour."""

import re
from collections.abc import Callable
from datetime import timedelta

import pytest
import time_machine
from django.core import mail
from django.test import Client

from lifecycle.models import Letter, Person
from lifecycle.records.people.letters import LINK_LASTS, ask_for_link, is_open, link_path, open_link
from lifecycle.records.secrets import code_for
from lifecycle.reminders.people.letters import send_letters
from lifecycle.web.people.sign_in_link import PER_ADDRESS, PER_PLACE
from tests.conftest import World
from tests.factories import NOON, PersonFactory
from tests.records.threads import all_at_once

SignIn = Callable[..., Client]
EMAIL = "member@garden.example"
SECOND = timedelta(seconds=1)


@pytest.fixture
def letter(world: World) -> Letter:
    return ask_for_link(EMAIL, now=NOON)


def ask(email: str = EMAIL, client: Client | None = None, **more: str) -> str:
    answer = (client or Client()).post("/sign-in/link", {"email": email}, **more)
    assert answer.status_code == 200
    return answer.content.decode()


def is_spent(client: Client, path: str) -> bool:
    answers = [client.get(path), client.post(path)]
    texts = [answer.content.decode() for answer in answers]
    return all(
        answer.status_code == 404
        and "<h1>This link signs nobody in</h1>" in text
        and 'href="/sign-in/link"' in text
        for answer, text in zip(answers, texts, strict=True)
    )


def test_from_asking_to_being_in(world: World) -> None:
    client = Client()
    text = ask("Member@Garden.example", client)
    assert "If somebody signs in here with Member@Garden.example, a link is on its way" in text
    assert send_letters(now=NOON) == 1
    path = re.search(r"http://127\.0\.0\.1:8000(/\S+)", mail.outbox[0].body)[1]
    page = client.get(path)
    assert "One tap, and you are in" in page.content.decode()
    assert "no-store" in page["Cache-Control"]
    assert page["Referrer-Policy"] == "same-origin"
    # Programs that open every address in a mail use nothing up.
    assert client.head(path).status_code == 200
    assert client.get(path).status_code == 200
    assert client.get("/settings").status_code == 302
    assert client.post(path, follow=True).request["PATH_INFO"] == world.address
    assert client.get("/settings").status_code == 200
    assert is_spent(Client(), path)


def test_the_page_is_not_opened_by_a_form_from_elsewhere(letter: Letter) -> None:
    client = Client(enforce_csrf_checks=True)
    assert client.post(link_path(letter)).status_code == 403
    assert is_open(letter.pk, link_path(letter).rpartition("/")[2], now=NOON)


def test_it_works_for_half_an_hour(letter: Letter) -> None:
    with time_machine.travel(NOON + LINK_LASTS - SECOND, tick=False):
        assert Client().get(link_path(letter)).status_code == 200
    with time_machine.travel(NOON + LINK_LASTS, tick=False):
        assert is_spent(Client(), link_path(letter))


def test_codes_made_up_or_of_another_purpose_open_nothing(letter: Letter) -> None:
    client = Client()
    other = ask_for_link("other@garden.example", now=NOON)
    right = link_path(letter).rpartition("/")[2]
    for path in (
        f"/sign-in/l/{letter.pk}/{'x' * 24}",
        f"/sign-in/l/{letter.pk}/{right[:-1]}",
        f"/sign-in/l/{letter.pk}/{right}x",
        f"/sign-in/l/{other.pk}/{right}",
        f"/sign-in/l/{10**18}/{right}",
        f"/sign-in/l/{10**40}/{right}",
        f"/sign-in/l/{letter.pk}/{code_for('ask', letter.pk, letter.nonce)}",
        f"/sign-in/l/{letter.pk}/ü%00{right}",
    ):
        assert is_spent(client, path), path


def test_letters_about_something_else_sign_nobody_in(letter: Letter) -> None:
    Letter.objects.update(about="invitation")
    assert is_spent(Client(), link_path(letter))


@pytest.mark.parametrize("state", [{"is_active": False}, {"erased_at": NOON}])
def test_who_may_not_sign_in_does_not_with_a_link_either(
    letter: Letter, state: dict[str, object]
) -> None:
    Person.objects.filter(email=EMAIL).update(**state)
    assert is_spent(Client(), link_path(letter))


def test_a_used_link_ends_the_others_of_its_address(world: World, letter: Letter) -> None:
    later, others = ask_for_link(EMAIL, now=NOON), ask_for_link("other@x.example", now=NOON)
    assert Client().post(link_path(later)).status_code == 302
    assert is_spent(Client(), link_path(letter))
    others.refresh_from_db()
    assert others.state == "pending"


def test_somebody_else_signed_in_here_is_signed_out_by_it(
    world: World, as_person: SignIn, letter: Letter
) -> None:
    client = as_person(world.owner)
    client.post(link_path(letter))
    assert client.get("/settings").context["person"] == world.member.person


def test_a_person_without_a_password_gets_in(world: World) -> None:
    person = PersonFactory(email="new@garden.example")
    person.set_unusable_password()
    person.save()
    client = Client()
    client.post(link_path(ask_for_link(person.email, now=NOON)))
    assert "Set a password" in client.get("/settings").content.decode()


@pytest.mark.parametrize("own", [True, False])
def test_the_device_decides_how_long(letter: Letter, own: bool) -> None:
    client = Client()
    client.post(link_path(letter), {"own_device": "on"} if own else {})
    days = 90 if own else 0.5
    assert client.session.get_expiry_age() == pytest.approx(days * 86_400)


@pytest.mark.parametrize("email", ["", "no address", "a@b", "x" * 300 + "@x.example", "a\x00@b.c"])
def test_what_is_no_address_is_said_to_be_none(world: World, email: str) -> None:
    answer = Client().post("/sign-in/link", {"email": email})
    assert answer.status_code == 422
    assert "There is a problem" in answer.content.decode()
    assert not Letter.objects.exists()


@pytest.mark.parametrize(
    ("path", "field"),
    [("/sign-in", "username"), ("/sign-in/link", "email"), ("/first-run", "person_name")],
)
def test_an_answer_does_not_grow_with_what_was_typed(db: None, path: str, field: str) -> None:
    if path != "/first-run":
        PersonFactory()
    text = Client().post(path, {field: "x" * 9000}).content.decode()
    assert "x" * 50 in text
    assert "x" * 255 not in text


def test_asking_too_often_for_one_address_says_the_same_and_writes_nothing(world: World) -> None:
    texts = {without_token(ask(REMOTE_ADDR=f"192.0.2.{n}")) for n in range(PER_ADDRESS + 3)}
    assert len(texts) == 1
    assert Letter.objects.count() == PER_ADDRESS
    # Under another spelling it is still the same address.
    ask(EMAIL.upper())
    assert Letter.objects.count() == PER_ADDRESS
    with time_machine.travel(NOON + timedelta(hours=1), tick=False):
        ask()
    assert Letter.objects.count() == PER_ADDRESS + 1


def test_asking_too_often_from_one_place_stops_too(world: World) -> None:
    for number in range(PER_PLACE + 3):
        ask(f"person{number}@elsewhere.example")
    assert Letter.objects.count() == PER_PLACE
    ask(REMOTE_ADDR="198.51.100.7")
    assert Letter.objects.count() == PER_PLACE + 1


def test_a_fresh_installation_leads_to_its_first_run(db: None) -> None:
    assert Client().get("/sign-in/link")["Location"] == "/first-run"


@pytest.mark.database
@pytest.mark.django_db(transaction=True)
def test_of_many_taps_at_once_one_signs_in() -> None:
    person = PersonFactory(email=EMAIL)
    letter = ask_for_link(EMAIL, now=NOON)
    code = link_path(letter).rpartition("/")[2]
    opened = all_at_once(12, lambda _: open_link(letter.pk, code, now=NOON))
    assert [each.person for each in opened if each is not None] == [person]


def without_token(text: str) -> str:
    return re.sub(r'(name="csrfmiddlewaretoken" value|nonce)="[^"]*"', "", text)

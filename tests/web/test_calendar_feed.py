"""The calendar's secret address: who gets it, what it answers, and how it ends."""

import re
from collections.abc import Callable

import pytest
from django.test import Client
from django.test.utils import override_settings
from django.urls import reverse

from lifecycle.models import CalendarAddress, CalendarItem, Person
from lifecycle.records.messages.calendar import code_of, end_address, new_address
from lifecycle.web.messages.calendar_feed import part
from tests.conftest import World
from tests.factories import NOON, a_task

pytestmark = pytest.mark.django_db
SignIn = Callable[..., Client]


@pytest.fixture
def address(world: World) -> CalendarAddress:
    a_task(world.plant, "cut_back")
    return new_address(world.member.person, now=NOON)


def path_of(address: CalendarAddress) -> str:
    return reverse("calendar", args=[address.pk, code_of(address)])


def test_whoever_knows_the_address_reads_it_without_signing_in(address: CalendarAddress) -> None:
    answer = Client().get(path_of(address))
    assert answer.status_code == 200
    assert answer["Content-Type"] == "text/calendar; charset=utf-8"
    assert answer["Cache-Control"] == "private, max-age=900"
    assert not answer.cookies
    assert b"SUMMARY:Cut back: Cayenne by the gate\\, Bed 3" in answer.content
    address.refresh_from_db()
    assert address.read_at == NOON


def test_only_reading_is_answered(address: CalendarAddress) -> None:
    path = path_of(address)
    head = Client().head(path)
    assert (head.status_code, head.content) == (200, b"")
    for act in ("post", "put", "patch", "delete"):
        assert getattr(Client(), act)(path).status_code == 405


def test_unchanged_calendar_is_not_sent_again(world: World, address: CalendarAddress) -> None:
    path = path_of(address)
    mark = Client().get(path)["ETag"]
    again = Client().get(path, headers={"if-none-match": mark})
    assert (again.status_code, again.content) == (304, b"")
    assert again["Cache-Control"] == "private, max-age=900"
    a_task(world.plant, "lift")
    assert Client().get(path, headers={"if-none-match": mark}).status_code == 200


def test_code_is_too_long_to_guess_and_belongs_to_one_row(
    world: World, address: CalendarAddress
) -> None:
    code = code_of(address)
    assert re.fullmatch(r"[A-Za-z0-9_-]{24}", code)  # 144 bits
    other = new_address(world.owner.person, now=NOON)
    wrong = [
        reverse("calendar", args=[other.pk, code]),
        reverse("calendar", args=[address.pk, code_of(other)]),
        reverse("calendar", args=[address.pk, code[:-1]]),
        reverse("calendar", args=[address.pk, code.swapcase()]),
        reverse("calendar", args=[address.pk, "ä\x00" * 30]),
        reverse("calendar", args=[10**30, code]),
        reverse("calendar", args=[0, code]),
    ]
    answers = [Client().get(path) for path in wrong]
    assert {answer.status_code for answer in answers} == {404}
    assert len({answer.content for answer in map(without_nonce, answers)}) == 1


def without_nonce(answer: object) -> object:
    answer.content = re.sub(rb'nonce="[^"]+"', b"", answer.content)  # type: ignore[attr-defined]
    return answer


def test_new_address_ends_the_old_one(
    world: World, address: CalendarAddress, as_person: SignIn
) -> None:
    old = path_of(address)
    client = as_person(world.member)
    assert Client().get(old).status_code == 200
    answer = client.post("/settings/calendar")
    assert answer["Location"] == "/settings#calendar"
    assert Client().get(old).status_code == 404
    address.refresh_from_db()
    assert Client().get(path_of(address)).status_code == 200
    assert CalendarAddress.objects.count() == 1


def test_stopping_ends_it_and_forgets_what_was_shown(
    world: World, address: CalendarAddress, as_person: SignIn
) -> None:
    old = path_of(address)
    Client().get(old)
    assert CalendarItem.objects.exists()
    as_person(world.member).post("/settings/calendar", {"act": "stop"})
    assert Client().get(old).status_code == 404
    assert not CalendarItem.objects.exists()
    assert part(world.member.person) == {"address": None}


def test_an_address_ended_while_it_was_read_is_not_there(
    world: World, address: CalendarAddress, monkeypatch: pytest.MonkeyPatch
) -> None:
    def found_too_early(pk: int, code: str) -> CalendarAddress:
        end_address(world.member.person)
        return address

    monkeypatch.setattr("lifecycle.web.messages.calendar_feed.address_by_code", found_too_early)
    assert Client().get(path_of(address)).status_code == 404


def test_who_may_not_sign_in_has_no_calendar(world: World, address: CalendarAddress) -> None:
    Person.objects.filter(pk=world.member.person_id).update(is_active=False)
    assert Client().get(path_of(address)).status_code == 404


def test_key_of_the_site_is_part_of_the_code(address: CalendarAddress, settings: object) -> None:
    path = path_of(address)
    old = settings.SECRET_KEY  # type: ignore[attr-defined]
    with override_settings(SECRET_KEY="another" * 8, SECRET_KEY_FALLBACKS=[]):
        assert Client().get(path).status_code == 404
    with override_settings(SECRET_KEY="another" * 8, SECRET_KEY_FALLBACKS=[old]):
        assert Client().get(path).status_code == 200


def test_the_settings_make_and_show_it(world: World, as_person: SignIn) -> None:
    person = world.member.person
    assert part(person) == {"address": None}
    assert Client().post("/settings/calendar").status_code == 302
    assert not CalendarAddress.objects.exists()
    client = as_person(world.member)
    assert client.get("/settings/calendar").status_code == 405
    client.post("/settings/calendar")
    shown = part(person)
    assert shown["address"].startswith("http://127.0.0.1:8000/calendar/")
    assert shown["subscribe"] == shown["address"].replace("http:", "webcal:")
    assert shown["read_at"] is None
    path = shown["address"].removeprefix("http://127.0.0.1:8000")
    assert Client().get(path).status_code == 200

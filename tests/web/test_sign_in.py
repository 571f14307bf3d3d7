"""Sign-in, home, first run, and what a monitor sees."""

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client

from lifecycle.models import Garden, Letter, Membership, Person, Site
from tests.conftest import World
from tests.factories import NOON, PASSWORD, GardenFactory, MembershipFactory, PersonFactory

FOUNDING = {
    "garden_name": "Canal Side",
    "person_name": "Ada Brook",
    "email": "Ada@Garden.example",
    "password": PASSWORD,
    "site_name": "The bank",
    "latitude": "-33,9",
    "longitude": "",
    "time_zone": "Africa/Johannesburg",
}


def test_sign_in_and_out(world: World) -> None:
    client = Client()
    answer = client.post(
        "/sign-in", {"username": "MEMBER@garden.example", "password": PASSWORD}, follow=True
    )
    assert answer.request["PATH_INFO"] == world.address
    assert client.post("/sign-out")["Location"] == "/sign-in"
    assert client.get(world.address).status_code == 302


def test_wrong_password_keeps_the_address_and_says_neither(world: World) -> None:
    for address in ("member@garden.example", "nobody@garden.example"):
        answer = Client().post("/sign-in", {"username": address, "password": "wrong"})
        text = answer.content.decode()
        assert answer.status_code == 422
        assert "<title>Error: Sign in" in text
        assert "do not belong together" in text
        assert address in text
        assert 'href="/sign-in/link"' in text


def test_sign_in_leads_to_where_one_wanted_to_go_but_not_elsewhere(world: World) -> None:
    data = {"username": "member@garden.example", "password": PASSWORD}
    wanted = Client().post("/sign-in", {**data, "next": "/settings"})
    assert wanted["Location"] == "/settings"
    elsewhere = Client().post("/sign-in", {**data, "next": "https://elsewhere.example/"})
    assert elsewhere["Location"] == "/"


@pytest.mark.parametrize("state", [{"is_active": False}, {"erased_at": NOON}])
def test_who_is_stopped_or_erased_does_not_get_in_and_is_not_told_apart(
    world: World, state: dict[str, Any]
) -> None:
    Person.objects.filter(pk=world.member.person_id).update(**state)
    data = {"username": "member@garden.example", "password": PASSWORD}
    answer = Client().post("/sign-in", data)
    assert answer.status_code == 422
    assert "do not belong together" in answer.content.decode()


@pytest.mark.parametrize("state", [{"is_active": False}, {"erased_at": NOON}])
def test_who_is_stopped_or_erased_is_out_at_the_next_page(
    world: World, as_person: Callable[..., Client], state: dict[str, Any]
) -> None:
    client = as_person(world.member)
    assert client.get(world.address).status_code == 200
    Person.objects.filter(pk=world.member.person_id).update(**state)
    assert client.get(world.address)["Location"].startswith("/sign-in?next=")


def test_somebody_without_a_garden_gets_in_and_is_told(world: World) -> None:
    PersonFactory(email="new@garden.example")
    data = {"username": "new@garden.example", "password": PASSWORD}
    answer = Client().post("/sign-in", data, follow=True)
    assert answer.request["PATH_INFO"] == "/"
    assert "You belong to no garden yet" in answer.content.decode()


def test_password_managers_and_pasting_work(world: World) -> None:
    text = Client().get("/sign-in").content.decode()
    assert 'autocomplete="username"' in text
    assert 'autocomplete="current-password"' in text
    assert "maxlength" not in text[text.index('name="password"') :][:200]


def test_a_password_may_be_as_long_as_one_likes(world: World) -> None:
    long = "correct horse " * 200
    world.member.person.set_password(long)
    world.member.person.save()
    answer = Client().post("/sign-in", {"username": "member@garden.example", "password": long})
    assert answer["Location"] == "/"


def test_sign_in_does_not_lead_a_signed_in_reader_in_circles(
    world: World, as_person: Callable[..., Client]
) -> None:
    for wanted in ("/sign-in", "/sign-in?next=/sign-in", "/sign-out"):
        answer = as_person(world.member).get("/sign-in", {"next": wanted})
        assert answer["Location"] == "/"


@pytest.mark.parametrize(
    ("address", "data"),
    [
        ("/sign-in", {"username": "member@garden.example", "password": PASSWORD}),
        ("/sign-in/link", {"email": "member@garden.example"}),
        ("/sign-in/again", {"password": PASSWORD}),
        ("/sign-out", {}),
        ("/settings/sign-out-everywhere", {}),
        ("/settings/password", {"old_password": PASSWORD, "new_password": "three new words"}),
    ],
)
def test_a_form_from_elsewhere_does_nothing(
    world: World, address: str, data: dict[str, str]
) -> None:
    before = Person.objects.get(pk=world.member.person_id)
    client = Client(enforce_csrf_checks=True)
    if address not in ("/sign-in", "/sign-in/link"):
        client.force_login(before)
    answer = client.post(address, data)
    assert answer.status_code == 403
    assert "This form is too old to be sent" in answer.content.decode()
    after = Person.objects.get(pk=before.pk)
    assert (after.password, after.session_nonce) == (before.password, before.session_nonce)
    assert not Letter.objects.exists()
    signed_in = client.get("/settings").status_code == 200
    assert signed_in is (address not in ("/sign-in", "/sign-in/link"))


def test_sign_in_shows_the_demonstration_only_where_there_is_one(world: World) -> None:
    assert b"peppers-in-winter" not in Client().get("/sign-in").content
    GardenFactory(invented=True)
    assert b"peppers-in-winter" in Client().get("/sign-in").content


def test_sign_in_survives_garbage(world: World) -> None:
    for value in ("\x00", "x" * 7_000, ""):
        answer = Client().post("/sign-in", {"username": value, "password": value})
        assert answer.status_code == 422
        assert b"There is a problem" in answer.content


def test_home_lists_several_gardens(world: World, as_person: Callable[..., Client]) -> None:
    assert as_person(world.member).get("/")["Location"] == world.address
    MembershipFactory(person=world.member.person, garden__name="Second")
    text = as_person(world.member).get("/").content.decode()
    assert "Choose a garden" in text
    assert "Second" in text


def test_invented_garden_says_so_on_its_pages(
    world: World, as_person: Callable[..., Client]
) -> None:
    client = as_person(world.member)
    assert b"Invented demonstration garden" not in client.get(world.address).content
    Garden.objects.filter(pk=world.garden.pk).update(invented=True)
    for address in (world.address, f"{world.address}plants", "/settings"):
        assert b"Invented demonstration garden" in client.get(address).content


@pytest.mark.django_db
def test_first_run_founds_the_garden_and_signs_in() -> None:
    client = Client()
    assert client.get("/sign-in")["Location"] == "/first-run"
    assert client.get("/first-run").status_code == 200
    answer = client.post("/first-run", {**FOUNDING, "latitude": "-33.9"}, follow=True)
    assert answer.request["PATH_INFO"] == "/g/canal-side/"
    assert answer.context["user"].email == "ada@garden.example"
    assert Site.objects.get().year_starts_in == 7
    assert Membership.objects.get().role == "owner"
    assert client.get("/first-run")["Location"] == "/sign-in"
    again = client.post("/first-run", {**FOUNDING, "latitude": "-33.9"})
    assert again["Location"] == "/sign-in"
    assert Person.objects.count() == 1


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("field", "value", "sentence"),
    [
        ("latitude", "north", "Latitude: give degrees from -66 to 72"),
        ("latitude", "89", "Latitude: give degrees from -66 to 72"),
        ("latitude", "nan", "Latitude: give degrees from -66 to 72"),
        ("longitude", "999", "Longitude: give degrees"),
        ("time_zone", "Mars/Olympus", "Time zone: choose one from the list."),
        ("password", "password", "too common"),
        ("garden_name", "", "Name of the garden: give an answer."),
        ("garden_name", "x" * 10_000, "keep it to 60 characters (it has 10000)"),
        ("person_name", "a\x00b", "a character nobody can read"),
        ("email", "not-an-address", "valid email address"),
    ],
)
def test_first_run_refuses_with_a_sentence(field: str, value: str, sentence: str) -> None:
    data = {**FOUNDING, "latitude": "41.4", field: value}
    answer = Client().post("/first-run", data)
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert not Person.objects.exists()


def test_process_check_asks_no_database() -> None:
    """The absence of the database mark makes any query fail."""
    assert Client().get("/healthz").status_code == 200

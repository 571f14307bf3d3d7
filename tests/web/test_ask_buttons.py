"""The buttons of the frost page: ask the rota, I will do it, and one's own answer; by role."""

from collections.abc import Callable
from datetime import timedelta

import pytest
import time_machine
from django.test import Client

from lifecycle.models import Ask
from lifecycle.reminders.nights.asking import ask_all
from tests.conftest import World
from tests.factories import SiteFactory
from tests.reminders.frost_nights import (
    BEGIN,
    MINUTE,
    NIGHT,
    a_night,
    asked,
    clock,
    on_call,
    told,
)

pytestmark = pytest.mark.django_db
SignIn = Callable[[object], Client]
AT = BEGIN + MINUTE


def test_the_coordinator_asks_the_rota_now(world: World, as_person: SignIn) -> None:
    on_call(world.site, ["Ana", "Ben"])
    night = a_night(world.site)
    client = as_person(world.coordinator)
    with time_machine.travel(clock(9), tick=False):
        answer = client.post(f"{world.address}asks/{night.pk}/rota")
    assert answer.status_code == 302
    assert answer["Location"] == f"{world.address}frost/{world.site.pk}/{NIGHT}#asks"
    assert asked(night) == ["Ana", "Ben"]
    assert told("frost_ask") == ["Ana", "Ben"]


@pytest.mark.parametrize(
    ("state", "hour", "days"),
    [
        ("called", 21, 0),
        ("called", 6, 0),
        ("quiet", 12, 0),
        ("not_needed", 12, 0),
        ("possible", 12, 1),
    ],
)
def test_the_button_is_refused_where_it_makes_no_sense(
    world: World, as_person: SignIn, state: str, hour: int, days: int
) -> None:
    on_call(world.site, ["Ana"])
    night = a_night(world.site, state=state, night=NIGHT + timedelta(days))
    with time_machine.travel(clock(hour), tick=False):
        answer = as_person(world.coordinator).post(f"{world.address}asks/{night.pk}/rota")
    assert answer.status_code == 422
    assert asked(night) == []


@pytest.mark.parametrize(
    ("name", "allowed"),
    [
        ("rota", {"coordinator", "owner"}),
        ("volunteer", {"coordinator", "owner", "member"}),
    ],
)
def test_roles(world: World, as_person: SignIn, name: str, allowed: set[str]) -> None:
    night = a_night(world.site)
    address = f"{world.address}asks/{night.pk}/{name}"
    for role in ("coordinator", "owner", "member", "committee"):
        client = as_person(getattr(world, role))
        assert client.get(address).status_code == 405
        assert client.post(address).status_code == (302 if role in allowed else 403), role
    assert as_person(world.outsider).post(address).status_code == 404
    assert Client().post(address)["Location"].startswith("/sign-in")


def test_a_night_of_another_garden_is_not_there(world: World, as_person: SignIn) -> None:
    elsewhere = a_night(SiteFactory())
    for name in ("rota", "volunteer", "answer"):
        answer = as_person(world.owner).post(f"{world.address}asks/{elsewhere.pk}/{name}")
        assert answer.status_code == 404


def test_a_volunteer_is_in_once(world: World, as_person: SignIn) -> None:
    night = a_night(world.site)
    client = as_person(world.member)
    with time_machine.travel(AT, tick=False):
        for _ in range(2):
            client.post(f"{world.address}asks/{night.pk}/volunteer")
    [ask] = Ask.objects.all()
    assert (ask.person, ask.state, ask.rung) == (world.member.person, "accepted", 0)


@pytest.mark.parametrize("state", ["cancelled", "not_needed", "over", "quiet"])
def test_nobody_volunteers_for_what_is_off(world: World, as_person: SignIn, state: str) -> None:
    night = a_night(world.site, state=state)
    answer = as_person(world.member).post(f"{world.address}asks/{night.pk}/volunteer")
    assert answer.status_code == 422
    assert not Ask.objects.exists()


def test_a_signed_in_person_answers_their_own_ask_only(world: World, as_person: SignIn) -> None:
    on_call(world.site, ["Ana", "Ben"])
    night = a_night(world.site)
    ask_all(now=BEGIN)
    ana, ben = Ask.objects.order_by("pk")
    address = f"{world.address}asks/{night.pk}/answer"
    with time_machine.travel(AT, tick=False):
        assert as_person(ana.person).post(address, {"act": "yes"}).status_code == 302
        assert as_person(world.member).post(address, {"act": "yes"}).status_code == 404
        assert as_person(ben.person).post(address, {"act": "?"}).status_code == 422
        assert as_person(world.committee).post(address, {"act": "yes"}).status_code == 403
    states = dict(Ask.objects.values_list("person__name", "state"))
    assert states == {"Ana": "accepted", "Ben": "asked"}

"""After joining: the bed and the week; and what a member says about themselves."""

from collections.abc import Callable

import pytest
from django.test import Client

from lifecycle.models import BedHolding, Membership
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, PlaceFactory, a_plant, a_task
from tests.web.people_pages import queries_of

SignIn = Callable[..., Client]


def holds_bed(world: World, who: Membership) -> None:
    BedHolding.objects.create(
        garden=world.garden, place=world.bed, person=who.person, since=NOON.date()
    )


def test_the_bed_its_plants_and_the_week(world: World, as_person: SignIn) -> None:
    newcomer = MembershipFactory(garden=world.garden)
    holds_bed(world, newcomer)
    a_plant(world.member, PlaceFactory(site=world.site, name="Bed 9"), name="Not theirs")
    orphan = a_plant(world.member, world.bed, name="Left behind", holder=None)
    a_task(orphan, "cut_back")
    text = as_person(newcomer).get(f"{world.address}welcome").content.decode()
    for words in ("Your bed and this week", "Bed 3", "Cayenne by the gate", "Left behind"):
        assert words in text
    assert "Not theirs" not in text
    assert "nobody has it yet" in text
    assert f'href="{world.address}plants/{world.plant.code}"' in text
    assert f'href="{world.address}beds/{world.bed.pk}"' in text


def test_without_a_bed_it_says_so(world: World, as_person: SignIn) -> None:
    for who in (world.committee, MembershipFactory(garden=world.garden)):
        text = as_person(who).get(f"{world.address}welcome").content.decode()
        assert "No bed is yours yet" in text
        assert "Nothing is due for you" in text


def test_the_safety_notice_stands_on_both_pages(world: World, as_person: SignIn) -> None:
    world.garden.safety = "Hats <on>."
    world.garden.save()
    client = as_person(world.member)
    for page in ("welcome", "me"):
        assert "Hats &lt;on&gt;." in client.get(f"{world.address}{page}").content.decode()
    assert "Say that you have read it" in client.get(f"{world.address}welcome").content.decode()
    answer = client.post(f"{world.address}me", {"act": "safety"})
    assert answer["Location"] == f"{world.address}me?said=safety"
    assert "You read it on 14 October" in client.get(f"{world.address}me").content.decode()
    assert "Say that you" not in client.get(f"{world.address}welcome").content.decode()


def test_outsiders_see_neither(world: World, as_person: SignIn) -> None:
    client = as_person(world.outsider)
    for page in ("welcome", "me"):
        assert client.get(f"{world.address}{page}").status_code == 404
    assert client.post(f"{world.address}me", {"act": "safety"}).status_code == 404


@pytest.mark.parametrize("role", ["owner", "coordinator", "member", "committee"])
def test_everybody_describes_themselves(world: World, as_person: SignIn, role: str) -> None:
    client, address = as_person(getattr(world, role)), f"{world.address}me"
    given = {
        "skills": ["ladder", "water"],
        "minutes_a_week": "60",
        "emergency_name": "Ben",
        "emergency_phone": "600 123 456",
    }
    assert client.post(address, given)["Location"] == f"{address}?said=saved"
    member = Membership.objects.get(pk=getattr(world, role).pk)
    assert (member.skills, member.minutes_a_week) == (["ladder", "water"], 60)
    assert (member.emergency_name, member.emergency_phone) == ("Ben", "600 123 456")
    text = client.get(address).content.decode()
    assert text.count("checked") == 2
    assert 'value="60"' in text


@pytest.mark.parametrize(
    "bad",
    [
        {"skills": ["flying"]},
        {"minutes_a_week": "many"},
        {"minutes_a_week": "9" * 30},
        {"minutes_a_week": "-5"},
        {"emergency_name": "Ben"},
        {"emergency_phone": "600 123 456"},
        {"emergency_name": "Ben", "emergency_phone": "ring me"},
        {"emergency_name": "\x00", "emergency_phone": "600 123 456"},
    ],
)
def test_what_is_refused(world: World, as_person: SignIn, bad: dict[str, object]) -> None:
    answer = as_person(world.member).post(f"{world.address}me", bad)
    assert answer.status_code == 422
    assert "<title>Error: " in answer.content.decode()


def test_nothing_else_of_a_membership_can_be_set(world: World, as_person: SignIn) -> None:
    as_person(world.member).post(
        f"{world.address}me",
        {
            **{"role": "owner", "joined_on": "1990-01-01", "person": world.owner.person_id},
            **{"waiver_signed_on": "2026-01-01", "garden": "1", "left_on": "2026-01-01"},
        },
    )
    after = Membership.objects.get(pk=world.member.pk)
    for name in ("role", "joined_on", "person_id", "waiver_signed_on", "garden_id", "left_on"):
        assert getattr(after, name) == getattr(world.member, name)


def test_queries_do_not_grow(world: World, as_person: SignIn) -> None:
    holds_bed(world, world.member)
    client, address, seen = as_person(world.member), f"{world.address}welcome", []
    client.get(address)
    for more in (3, 30):
        for _ in range(more):
            a_task(a_plant(world.member, world.bed), "cut_back")
        seen.append(queries_of(client, address))
    # session, person, membership, site, beds, plants, tasks grouped, with their places and the
    # garden’s names of places
    assert seen[0] == seen[1] <= 9

"""What many tests start from: one garden with its people, ground and a plant, and an outsider."""

import os
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import pytest
import time_machine
from django.test import Client
from django.utils import timezone
from hypothesis import settings

from lifecycle.models import Garden, Membership, Person, Place, Plant, Role, Site
from lifecycle.records.people.sessions import seen
from lifecycle.web.people.session import OWN_DEVICE_LASTS
from tests.factories import (
    NOON,
    GardenFactory,
    MembershipFactory,
    PersonFactory,
    PlaceFactory,
    SiteFactory,
    a_plant,
)

# A busy machine is slow, and that says nothing about an example.
settings.register_profile("unhurried", deadline=None)
# Thousands of runs, each of which must find the same mistake again.
settings.register_profile(
    "mutation", deadline=None, max_examples=20, derandomize=True, database=None
)
settings.load_profile("ci" if os.environ.get("CI") else "unhurried")


@dataclass(frozen=True)
class World:
    """A garden with one person of every role, and somebody from elsewhere."""

    garden: Garden
    site: Site
    bed: Place
    bench: Place
    quarters: Place
    owner: Membership
    coordinator: Membership
    member: Membership
    committee: Membership
    outsider: Person
    plant: Plant

    @property
    def address(self) -> str:
        """The address of the garden's pages."""
        return f"/g/{self.garden.slug}/"


@pytest.fixture
def noon() -> Iterator[None]:
    """Hold the clock at NOON."""
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def world(db: None, noon: None) -> World:
    """Return a small garden on 14 October 2026."""
    garden = GardenFactory(name="Northfield", slug="northfield")
    site = SiteFactory(garden=garden, name="Canal bank")
    members = {
        role: MembershipFactory(
            garden=garden,
            role=role,
            person=PersonFactory(name=str(role.label), email=f"{role.value}@garden.example"),
        )
        for role in Role
    }
    bed = PlaceFactory(site=site, name="Bed 3", position=3)
    elsewhere = MembershipFactory(role=Role.OWNER, person__name="Outsider")
    SiteFactory(garden=elsewhere.garden)
    return World(
        garden=garden,
        site=site,
        bed=bed,
        bench=PlaceFactory(site=site, name="Raising bench", kind="nursery", position=8),
        quarters=PlaceFactory(site=site, name="Shed", kind="quarters", position=9),
        owner=members[Role.OWNER],
        coordinator=members[Role.COORDINATOR],
        member=members[Role.MEMBER],
        committee=members[Role.COMMITTEE],
        outsider=elsewhere.person,
        plant=a_plant(members[Role.MEMBER], bed, name="Cayenne by the gate"),
    )


@pytest.fixture
def as_person() -> Callable[[Person | Membership], Client]:
    """Return a way to be signed in as somebody, for long, who was here today already."""

    def signed_in(who: Person | Membership) -> Client:
        client = Client()
        person = who.person if isinstance(who, Membership) else who
        client.force_login(person)
        session = client.session
        session.set_expiry(OWN_DEVICE_LASTS)
        session.save()
        # The first page of a day writes down that its reader came, and costs one query more.
        seen(person, timezone.now().date())
        return client

    return signed_in

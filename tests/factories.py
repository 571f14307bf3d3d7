"""Rows for tests. People, gardens and ground come from factories, records from the verbs."""

from datetime import UTC, date, datetime
from typing import Any
from uuid import uuid4

import factory
from factory.django import DjangoModelFactory

from lifecycle.life.kinds import Kind
from lifecycle.models import (
    Entry,
    Garden,
    Membership,
    Person,
    Place,
    Plant,
    Role,
    Site,
    Sowing,
    Task,
    Variety,
)
from lifecycle.models.plants import Projection
from lifecycle.records.crops.drafts import Draft
from lifecycle.records.crops.entries import log
from lifecycle.records.crops.plants import inherit
from lifecycle.records.crops.sowings import sow

NOON = datetime(2026, 10, 14, 12, 0, tzinfo=UTC)
PASSWORD = "a-long-enough-password"


class PersonFactory(DjangoModelFactory[Person]):
    """A person who can sign in with PASSWORD."""

    class Meta:
        model = Person
        skip_postgeneration_save = True

    email = factory.Sequence(lambda n: f"person{n}@garden.example")
    name = factory.Sequence(lambda n: f"Person {n}")
    password = factory.django.Password(PASSWORD)


class GardenFactory(DjangoModelFactory[Garden]):
    """A garden without people or ground."""

    class Meta:
        model = Garden

    name = factory.Sequence(lambda n: f"Garden {n}")
    slug = factory.Sequence(lambda n: f"garden-{n}")


class MembershipFactory(DjangoModelFactory[Membership]):
    """One person in one garden."""

    class Meta:
        model = Membership

    garden = factory.SubFactory(GardenFactory)
    person = factory.SubFactory(PersonFactory)
    role = Role.MEMBER
    joined_on = date(2024, 1, 1)


class SiteFactory(DjangoModelFactory[Site]):
    """Northern ground on UTC."""

    class Meta:
        model = Site

    garden = factory.SubFactory(GardenFactory)
    name = factory.Sequence(lambda n: f"Site {n}")
    latitude = 41.4
    longitude = 2.2
    time_zone = "UTC"
    year_starts_in = 1


class PlaceFactory(DjangoModelFactory[Place]):
    """A bed."""

    class Meta:
        model = Place

    site = factory.SubFactory(SiteFactory)
    garden = factory.SelfAttribute("site.garden")
    # The world of the tests has a bed 3 already.
    name = factory.Sequence(lambda n: f"Bed {n + 100}")
    kind = "bed"
    position = factory.Sequence(lambda n: n % 1000)


class VarietyFactory(DjangoModelFactory[Variety]):
    """A variety of annuum."""

    class Meta:
        model = Variety

    garden = factory.SubFactory(GardenFactory)
    species = "annuum"
    name = factory.Sequence(lambda n: f"Variety {n}")


def a_plant(actor: Membership, place: Place, **more: Any) -> Plant:
    """Take over a plant of the actor's garden; ``more`` overrules what is assumed."""
    given: dict[str, Any] = {
        "name": "",
        "phase": "bearing",
        "count": 1,
        "holder": actor.person,
        "happened_on": date(2026, 5, 20),
        "note": "",
        "uuid": uuid4(),
        "now": NOON,
        **more,
    }
    given.setdefault("variety", _variety(actor))
    return inherit(actor, place=place, **given)


def a_sowing(actor: Membership, place: Place, **more: Any) -> Sowing:
    """Sow forty seeds in the actor's garden."""
    given: dict[str, Any] = {
        "lot_name": "",
        "packed_year": None,
        "seeds": 40,
        "happened_on": date(2026, 3, 1),
        "holder": actor.person,
        "uuid": uuid4(),
        "now": NOON,
        **more,
    }
    given.setdefault("variety", _variety(actor))
    return sow(actor, site=place.site, place=place, **given)


def _variety(actor: Membership) -> Variety:
    found = Variety.objects.filter(garden_id=actor.garden_id, name="Cayenne").first()
    return found or VarietyFactory(garden=actor.garden, name="Cayenne")


def an_entry(actor: Membership, record: Projection, kind: Kind, **more: Any) -> Entry:
    """Log one entry of a record."""
    draft = Draft(kind, more.pop("happened_on", date(2026, 10, 1)), **more)
    return log(actor, record, draft, now=NOON).entry


def a_task(record: Projection, kind: str, **more: Any) -> Task:
    """Put an open task for a record into the work list, due at NOON."""
    given: dict[str, Any] = {
        "garden_id": record.garden_id,
        "site_id": record.site_id,
        "plant": record if isinstance(record, Plant) else None,
        "sowing": record if isinstance(record, Sowing) else None,
        "kind": kind,
        "growing_year": 2026,
        "number": 1,
        "earliest": date(2026, 10, 1),
        "best": date(2026, 10, 10),
        "latest": date(2026, 10, 20),
        "counts_from": date(2026, 9, 1),
        "reason": "Nights fall below {10 C} about {2026-10-20}.",
        "source": "A source",
        "made_at": NOON,
        **more,
    }
    return Task.objects.create(**given)

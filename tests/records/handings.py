"""Hand-overs for tests: a receiver, and a proposal with everything assumed."""

from typing import Any
from uuid import uuid4

from lifecycle.models import BedHolding, HandOver, Membership, Place
from lifecycle.records.people.handing import propose
from lifecycle.records.people.handing_load import load_of
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, PersonFactory

TODAY = NOON.date()


def a_receiver(world: World, name: str = "Ben Orchard", **more: Any) -> Membership:
    """Return another member of the world's garden."""
    return MembershipFactory(garden=world.garden, person=PersonFactory(name=name), **more)


def proposed(world: World, to: Membership, **more: Any) -> HandOver:
    """Propose that ``to`` takes the world's plant from the world's member, from today on."""
    actor = more.pop("actor", world.member)
    given: dict[str, Any] = {
        "giver": world.member.person,
        "to": to.person,
        "from_day": TODAY,
        "uuid": uuid4(),
        "now": NOON,
        **more,
    }
    return propose(actor, given.pop("load", load_of(world.plant)), **given)


def a_holding(place: Place, member: Membership, **more: Any) -> BedHolding:
    """Let a member hold a plot since the spring."""
    Place.objects.filter(pk=place.pk).update(common=False)
    place.common = False
    return BedHolding.objects.create(
        garden_id=place.garden_id,
        place=place,
        person=member.person,
        **{"since": TODAY.replace(month=3, day=1), **more},
    )

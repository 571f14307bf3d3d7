"""Hand-overs for tests: a receiver, and a proposal with everything assumed."""

from datetime import date, datetime
from typing import Any
from uuid import UUID, uuid4

from lifecycle.models import BedHolding, HandOver, Membership, Person, Place, Plant
from lifecycle.records.people.handing import accept, propose
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


def handed_over(
    actor: Membership,
    record: Plant,
    *,
    to: Person,
    happened_on: date,
    uuid: UUID,
    now: datetime,
    giver: Person | None = None,
) -> HandOver:
    """Propose that ``to`` takes a record from who has it, or ``giver``, and let them accept it."""
    made = propose(
        actor,
        load_of(record),
        giver=giver or record.holder,
        to=to,
        from_day=happened_on,
        uuid=uuid,
        now=now,
    )
    if made.state == HandOver.State.PROPOSED:
        receiver = Membership.objects.get(garden=actor.garden, person=to, left_on__isnull=True)
        made = accept(receiver, made, now=now)
    return made


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

"""Two gardens with everything in them, every word of each marked as that garden's own.

Wherever a garden's mark, its people's numbers or its codes turn up before somebody who does not
belong to it, something leaked.
"""

from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any
from uuid import uuid4

from lifecycle.life.kinds import Kind
from lifecycle.models import Garden, Membership, Person, Place, Plant, Role, Site, Sowing
from lifecycle.records.crops.identity import doubt
from tests.factories import (
    NOON,
    GardenFactory,
    MembershipFactory,
    PersonFactory,
    PlaceFactory,
    SiteFactory,
    VarietyFactory,
    a_plant,
    a_sowing,
    an_entry,
)

OWN, FOREIGN = "Quillmere", "Zanderby"
"""Words that stand in everything a garden holds, and nowhere in the program."""

NOWHERE_PK, NOWHERE_CODE = 987654321, "222222"
"""What no garden has."""

TODAY = NOON.date()
SOON, LATER = TODAY + timedelta(3), TODAY + timedelta(10)
ROLES = {
    "owner": Role.OWNER,
    "coordinator": Role.COORDINATOR,
    "committee": Role.COMMITTEE,
    "member": Role.MEMBER,
    "holder": Role.MEMBER,
    "former": Role.MEMBER,
}


@dataclass
class Ground:
    """One garden: its people by what they are, and one thing for each part of an address."""

    mark: str
    digits: str
    garden: Garden
    people: dict[str, Membership]
    site: Site
    bed: Place
    bench: Place
    plant: Plant
    sowing: Sowing
    things: dict[str, Any] = field(default_factory=dict)

    @property
    def address(self) -> str:
        """Where its pages begin."""
        return f"/g/{self.garden.slug}/"

    def person(self, who: str) -> Person:
        """Return one of its people."""
        return self.people[who].person

    def words(self, what: str) -> str:
        """Return a text that only this garden has."""
        return f"{self.mark} {what}"

    def put(self, model: Any, **columns: Any) -> Any:
        """Write one row of the garden."""
        return model.objects.create(garden=self.garden, **columns)

    def keep(self, **rows: Any) -> None:
        """Note the numbers of rows by what addresses call them."""
        self.things |= {name: row.pk for name, row in rows.items()}

    def sentinels(self) -> tuple[str, ...]:
        """Return all that must not be seen by those who do not belong, in lower case."""
        codes = (thing for thing in self.things.values() if isinstance(thing, str))
        secret = (code for code in codes if len(code) == 6 or len(code) == 24)
        return (self.mark.lower(), self.digits, self.garden.slug, *map(str.lower, secret))


@dataclass(frozen=True)
class Gardens:
    """The garden that is crawled, another one, and somebody who belongs to both."""

    own: Ground
    foreign: Ground
    both: Person

    def reader(self, who: str) -> Person | None:
        """Return who reads; None: nobody is signed in."""
        if who == "anonymous":
            return None
        if who == "outsider":
            return self.foreign.person("owner")
        return self.both if who == "both" else self.own.person(who)


def a_ground(mark: str, slug: str, digits: str) -> Ground:
    """Make a garden with its people, ground, plants and record."""
    garden = GardenFactory(
        name=f"{mark} gardens",
        slug=slug,
        waiver=f"{mark} waiver",
        safety=f"{mark} safety",
        join_nonce=uuid4(),
        joining="open",
        hours_ledger=True,
    )
    people = {
        who: MembershipFactory(
            garden=garden,
            role=role,
            left_on=date(2026, 8, 1) if who == "former" else None,
            emergency_name=f"{mark} kin",
            emergency_phone=f"+44 {digits} 9{number}",
            skills=["ladder"],
            minutes_a_week=120,
            person=_left(mark)
            if who == "former"
            else PersonFactory(
                name=f"{mark} {who.title()}",
                email=f"{who}@{mark.lower()}.example",
                phone=f"+44 {digits} 0{number}",
                last_seen_on=TODAY,
            ),
        )
        for number, (who, role) in enumerate(ROLES.items())
    }
    site = SiteFactory(garden=garden, name=f"{mark} bank")
    bed = PlaceFactory(site=site, name=f"{mark} bed", position=3, common=False)
    bench = PlaceFactory(site=site, name=f"{mark} bench", kind="nursery", position=8)
    PlaceFactory(site=site, name=f"{mark} shed", kind="quarters", position=9)
    variety = VarietyFactory(garden=garden, name=f"{mark} cayenne", overrides={})
    holder = people["holder"]
    plant = a_plant(holder, bed, variety=variety, name=f"{mark} plant", note=f"{mark} note")
    sowing = a_sowing(holder, bench, variety=variety, lot_name=f"{mark} lot")
    ground = Ground(mark, digits, garden, people, site, bed, bench, plant, sowing)
    _record(ground)
    return ground


def _left(mark: str) -> Person:
    """Make somebody whose own name is no secret of a garden: they may always read that."""
    name = "Robin Awayman" if mark == OWN else "Alex Faraway"
    return PersonFactory(name=name, last_seen_on=TODAY)


def _record(ground: Ground) -> None:
    """Write entries: one with a note, one struck, one doubt of two plants."""
    holder, plant = ground.people["holder"], ground.plant
    fed = an_entry(holder, plant, Kind.FED, quantity=20.0, note=ground.words("fed"))
    former = ground.people["former"]
    Membership.objects.filter(pk=former.pk).update(left_on=None)
    former.left_on = None
    an_entry(former, plant, Kind.PICKED, quantity=300.0, happened_on=date(2026, 7, 1))
    Membership.objects.filter(pk=former.pk).update(left_on=date(2026, 8, 1))
    former.left_on = date(2026, 8, 1)
    other = a_plant(holder, ground.bed, variety=plant.variety, name=ground.words("neighbour"))
    doubted = doubt(
        holder,
        plant,
        why="swapped",
        other=other,
        happened_on=date(2026, 10, 1),
        note=ground.words("doubt"),
        uuid=uuid4(),
        now=NOON,
    )
    ground.things |= {
        "slug": ground.garden.slug,
        "site": ground.site.pk,
        "place": ground.bed.pk,
        "plant": plant.code,
        "plant_pk": plant.pk,
        "neighbour": other.code,
        "sowing": ground.sowing.code,
        "variety": plant.variety_id,
        "lot": ground.sowing.lot_id,
        "entry": fed.pk,
        "doubt": doubted.pk,
        "former": former.person_id,
        "former_membership": former.pk,
    }
    for who in ("owner", "coordinator", "member", "holder"):
        ground.things[who] = ground.people[who].person_id

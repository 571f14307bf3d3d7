"""What members of the invented gardens share: plots, rules, chores, tools, gifts and hand-overs."""

from collections.abc import Mapping
from datetime import date, datetime, time, timedelta
from uuid import uuid4

from lifecycle.care.bed_rules import BedRules
from lifecycle.models import (
    Chore,
    Garden,
    GivenAway,
    Joining,
    Letter,
    Membership,
    Place,
    Plant,
    Role,
    Site,
    Tool,
)
from lifecycle.records.ground import (
    bed_rules,
    holdings,
    inspections,
    shed,
)
from lifecycle.records.people import (
    garden_settings,
    handing,
    invitations,
    memberships,
    waiting,
)
from lifecycle.records.people.handing_load import load_of
from lifecycle.records.work import (
    away,
    chores,
)
from lifecycle.records.year import (
    giving,
    hours,
)

STARTERS = ("water_off", "hoses", "water_on", "fleece_count")
SKILLS: Mapping[str, tuple[tuple[str, ...], int | None]] = {
    "Renske Abara": (("lifting",), 120),
    "Amadi Fennick": (("ladder", "water"), 180),
    "Birgit Solano": ((), 60),
    "Caspian Oduya": (("lifting", "sprayer"), None),
    "Delphine Marsh": ((), 90),
}
"""By member, what they can do and the minutes a week they offer."""

SAFETY = (
    "Invented. Keep the gate shut. Ladders only with a second person there. Gloves when handling "
    "hot peppers; wash your hands before touching your face. Sprays only as their label says. "
    "Soil here was not tested for lead: wash roots and hands."
)
WAIVER = "Invented. You work here at your own risk and keep to the garden’s rules."


def live_together(now: datetime) -> None:
    """Share out the plots, work and keys of the first garden, and let people come and go.

    One bed of the second garden must soon be clear, so that its rule shows in a plan.
    """
    first, second, *_ = Garden.objects.order_by("pk")
    owner = _member(first, Role.OWNER)
    coordinator = _member(first, Role.COORDINATOR)
    members = list(
        Membership.objects.filter(garden=first, role=Role.MEMBER)
        .select_related("person", "garden")
        .order_by("pk")
    )
    site = Site.objects.filter(garden=first).order_by("pk")[0]
    garden_settings.change_garden(
        owner,
        name=first.name,
        joining=Joining.WAITING,
        waiver=WAIVER,
        safety=SAFETY,
        hours_ledger=True,
        now=now,
    )
    _describe(members)
    _plots(coordinator, members, site, now)
    _work(coordinator, members, site, now)
    _shed(coordinator, members, site, now)
    _gifts(members, site, now)
    _coming_and_going(coordinator, members, now)
    _clear_soon(_member(second, Role.OWNER), now)


def _member(garden: Garden, role: Role) -> Membership:
    return Membership.objects.select_related("person", "garden").get(garden=garden, role=role)


def _describe(members: list[Membership]) -> None:
    for number, member in enumerate(members):
        skills, minutes = SKILLS.get(member.person.name, ((), None))
        memberships.describe_self(
            member,
            skills=skills,
            minutes_a_week=minutes,
            emergency_name="A neighbour, invented" if number == 0 else "",
            emergency_phone="555 0190" if number == 0 else "",
        )


def _plots(coordinator: Membership, members: list[Membership], site: Site, now: datetime) -> None:
    """Give one bed to one member and one to two; the others stay common."""
    since = site.local_day(now) - timedelta(200)
    for name, holders in (("Bed 2", members[:1]), ("Bed 3", members[1:3])):
        place = Place.objects.get(site=site, name=name)
        holdings.set_common(coordinator, place, False)
        for holder in holders:
            holdings.hold(coordinator, place, holder.person, since, now)
    today = site.local_day(now)
    inspections.look(
        coordinator,
        Place.objects.get(site=site, name="Bed 2"),
        looked_on=today,
        in_order=True,
        finding="",
        put_right_by=None,
        now=now,
    )
    inspections.look(
        coordinator,
        Place.objects.get(site=site, name="Bed 3"),
        looked_on=today,
        in_order=False,
        finding="Invented: the path beside it is overgrown.",
        put_right_by=today + timedelta(14),
        now=now,
    )


def _work(coordinator: Membership, members: list[Membership], site: Site, now: datetime) -> None:
    today = site.local_day(now)
    chores.add_starters(coordinator, site, STARTERS, now=now)
    saturday = today + timedelta((5 - today.weekday()) % 7 or 7)
    chores.add_chore(
        coordinator,
        chores.ChoreDraft(
            site,
            "Work morning on the paths",
            saturday,
            repeat=Chore.Repeat.WEEKS,
            every=2,
            at_time=time(10, 0),
            minutes=90,
            how="Invented: meet at the gate, bring gloves.",
        ),
        now=now,
    )
    chores.add_chore(
        coordinator,
        chores.ChoreDraft(
            site, "Turn the compost", today, repeat=Chore.Repeat.WEEKS, minutes=40, skill="lifting"
        ),
        now=now,
    )
    made = away.go_away(
        members[2],
        first_day=today + timedelta(2),
        last_day=today + timedelta(9),
        now=now,
        cover=members[3].person,
    )
    away.agree(members[3], made, now=now)


def _shed(coordinator: Membership, members: list[Membership], site: Site, now: datetime) -> None:
    rows = (
        (Tool.Kind.KEY, "Key to the shed", "With the coordinator", ""),
        (Tool.Kind.TOOL, "Long ladder", "Shed, back wall", "Two people, level ground"),
        (Tool.Kind.TOOL, "Loppers", "Shed, left shelf", "Wipe the blades between plants"),
    )
    tools = [
        shed.add_tool(coordinator, site, kind=kind, name=name, kept_in=kept_in, note=note)
        for kind, name, kept_in, note in rows
    ]
    shed.take_out(members[4], tools[2], now=now)


def _gifts(members: list[Membership], site: Site, now: datetime) -> None:
    today = site.local_day(now)
    rows = (
        (20, 4200.0, GivenAway.To.FOOD_BANK, "annuum"),
        (13, 1800.0, GivenAway.To.NEIGHBOURS, "annuum"),
        (6, 2600.0, GivenAway.To.FOOD_BANK, ""),
    )
    for number, (ago, grams, to, species) in enumerate(rows):
        giving.give(
            members[number],
            uuid=uuid4(),
            site=site,
            given_on=today - timedelta(ago),
            grams=grams,
            to=to,
            species=species,
            note="",
            now=now,
        )
    for number, minutes in enumerate((90, 45, 120, 60)):
        hours.log_hours(
            members[number],
            uuid=uuid4(),
            worked_on=today - timedelta(number),
            minutes=minutes,
            what="Invented",
            now=now,
        )


def _coming_and_going(coordinator: Membership, members: list[Membership], now: datetime) -> None:
    for name, address, asked in (
        ("Oskar Linden", "oskar@demo.example", date(now.year - 1, 11, 3)),
        ("Petra Vane", "petra@demo.example", date(now.year, 2, 17)),
    ):
        waiting.add_waiting(
            coordinator, name=name, email=address, note="Invented", asked_on=asked, now=now
        )
    invitations.invite(coordinator, email="lotte@demo.example", name="Lotte Amsel", now=now)
    # Nothing is ever mailed to people who do not exist.
    Letter.objects.all().delete()
    plant = (
        Plant.objects.filter(holder=members[0].person, garden=coordinator.garden)
        .exclude(phase="ended")
        .order_by("pk")
        .first()
    )
    if plant is not None:
        handing.propose(
            members[0],
            load_of(plant),
            giver=members[0].person,
            to=members[1].person,
            from_day=plant.site.local_day(now) + timedelta(3),
            uuid=uuid4(),
            now=now,
        )


def _clear_soon(owner: Membership, now: datetime) -> None:
    place = Place.objects.select_related("site").get(garden=owner.garden, name="Bed 3")
    ahead = place.site.local_day(now) + timedelta(45)
    bed_rules.set_bed_rules(
        owner, place, BedRules((ahead.month, 15), perennials_in_ground=False), now=now
    )

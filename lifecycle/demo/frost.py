"""Covers, people on call, some frost nights that were, and one called for tonight: all invented."""

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta

from lifecycle.demo.scenario import GARDENS, DemoSite
from lifecycle.demo.weather import usual_day
from lifecycle.models import FrostNight, Membership, Person, Role, Site
from lifecycle.records.ground.out_there import places_out
from lifecycle.records.nights.covers import add_cover
from lifecycle.records.nights.frost import what_happened
from lifecycle.records.nights.rota import join
from lifecycle.records.people import people
from lifecycle.records.weather.weather import type_seven_nights
from lifecycle.reminders.nights.frost_watch import watch_all, watch_site

COVERS: tuple[tuple[str, int, float, str], ...] = (
    ("cover_light", 6, 6.0, "Cool store, top shelf"),
    ("blanket", 4, 3.0, "Cool store, by the door"),
)
TONIGHT_C = -2.0
"""The low that is told for tonight at the site where that surprises least."""

TOO_WARM_C = 10.0
"""Where nights are usually warmer than this, nobody would believe in a frost."""

PAST: tuple[tuple[int, float, float, str], ...] = (
    (11, -1.5, -0.8, FrostNight.Harm.SOME),
    (8, -1.0, 1.9, FrostNight.Harm.NONE),
    (5, 9.0, 7.4, FrostNight.Harm.NONE),
    (3, -2.5, -1.6, FrostNight.Harm.NONE),
)
"""Nights ago, the low that was told, the low that came, and what the plants showed."""


def stock_and_man(now: datetime) -> None:
    """Give every site covers, and members who are on call for four weeks."""
    for number, site in enumerate(Site.objects.select_related("garden").order_by("pk")):
        owner, members = _people(site)
        for protection, pieces, area_m2, kept_in in COVERS:
            add_cover(
                owner, site, protection=protection, pieces=pieces, area_m2=area_m2, kept_in=kept_in
            )
        today = site.local_day(now)
        for turn, member in enumerate(members[:4]):
            join(
                member,
                site,
                first_day=today,
                last_day=today + timedelta(27),
                wakes=turn == 0,
                now=now,
            )
            _give_phone(member.person, f"555 01{number}{turn}")


def _give_phone(person: Person, phone: str) -> None:
    people.set_preferences(
        person,
        name=person.name,
        temperature=person.temperature,
        length=person.length,
        phone=phone,
        digest_day=person.digest_day,
        digest_hour=person.digest_hour,
        choices={},
    )


def call_tonight(now: datetime) -> Site | None:
    """Let a frost come tonight where it surprises least, and some have come before.

    Returns the site, or None where no site with tender plants out is cold enough to believe it.
    """
    site = _coldest(now)
    if site is None:
        return None
    owner, members = _people(site)
    for ago, told, came, harm in PAST:
        noon = now - timedelta(ago)
        _tell(members[0], site, told, noon)
        watch_site(site, noon)
        night = FrostNight.objects.filter(site=site, night=site.local_day(noon)).first()
        if night is not None:
            what_happened(owner, night, came, harm, now=noon + timedelta(1))
    _tell(members[0], site, TONIGHT_C, now)
    watch_all(now=now)
    return site


def _tell(member: Membership, site: Site, low_c: float, now: datetime) -> None:
    lows = [low_c, *(low_c + 4 + ahead for ahead in range(6))]
    type_seven_nights(member, site, first_night=site.local_day(now), lows_c=lows, now=now)


def _coldest(now: datetime) -> Site | None:
    scenes: Mapping[str, DemoSite] = {scene.name: scene for each in GARDENS for scene in each.sites}
    usual = {
        site: usual_day(scenes[site.name].climate, site.local_day(now))[0]
        for site in Site.objects.select_related("garden").order_by("pk")
        if any(plant.limits for place in places_out(site) for plant in place.spot.plants)
    }
    coldest = min(usual, key=lambda site: usual[site], default=None)
    return coldest if coldest is not None and usual[coldest] <= TOO_WARM_C else None


def _people(site: Site) -> tuple[Membership, Sequence[Membership]]:
    everybody = Membership.objects.filter(garden=site.garden, left_on__isnull=True)
    rows = list(everybody.select_related("person", "garden").order_by("pk"))
    owner = next(member for member in rows if member.role == Role.OWNER)
    return owner, [member for member in rows if member.role == Role.MEMBER]

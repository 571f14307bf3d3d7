"""Found a garden, and give it sites, places and varieties."""

import math
from datetime import datetime
from zoneinfo import ZoneInfo, available_timezones

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils.text import slugify

from lifecycle.handbook import CROPS
from lifecycle.models import Garden, Membership, Person, Place, PlaceKind, Role, Site, Variety
from lifecycle.permissions import require
from lifecycle.records.crops.beginnings import plain_name
from lifecycle.records.refusal import Refused


def nobody_yet() -> bool:
    """Return whether this installation has no person: the first-run page is open."""
    return not Person.objects.exists()


def found_garden(
    *,
    garden_name: str,
    person_name: str,
    email: str,
    password: str,
    site_name: str,
    latitude: float,
    longitude: float | None = None,
    time_zone: str,
    now: datetime,
) -> Membership:
    """Make the first person, their garden and its first site; they own it.

    Raises Refused once anybody exists, and for a password that is easy to guess.
    """
    with transaction.atomic():
        if not nobody_yet():
            raise Refused("This site already has people. Ask one of them for an invitation.")
        name = plain_name(person_name, "person", "person_name")
        person = Person(email=email.strip().lower(), name=name)
        _check(person, password)
        person.set_password(password)
        person.save()
        garden = new_garden(garden_name)
        day = now.astimezone(ZoneInfo(known_zone(time_zone))).date()
        owner = Membership.objects.create(
            garden=garden, person=person, role=Role.OWNER, joined_on=day
        )
        add_site(
            owner,
            name=site_name,
            latitude=latitude,
            longitude=longitude,
            time_zone=time_zone,
            year_starts_in=1 if latitude >= 0 else 7,
        )
    return owner


def new_garden(name: str, *, invented: bool = False) -> Garden:
    """Make a garden with an address of its own."""
    clean = plain_name(name, "garden", "garden_name")
    base = slugify(clean)[:50] or "garden"
    slug, n = base, 1
    while Garden.objects.filter(slug=slug).exists():
        n += 1
        slug = f"{base}-{n}"
    return Garden.objects.create(name=clean, slug=slug, invented=invented)


def add_site(
    actor: Membership,
    *,
    name: str,
    latitude: float,
    longitude: float | None,
    time_zone: str,
    year_starts_in: int,
) -> Site:
    """Give the garden a piece of ground with its own weather."""
    require(actor, "site.edit")
    site = Site(
        garden_id=actor.garden_id,
        name=plain_name(name, "site", "site_name"),
        latitude=latitude,
        longitude=longitude,
        time_zone=known_zone(time_zone),
        year_starts_in=year_starts_in,
    )
    _valid(site)
    site.save()
    return site


def add_place(
    actor: Membership,
    site: Site,
    *,
    name: str,
    kind: str,
    position: int,
    temperature_c: float | None = None,
    bright: bool = False,
) -> Place:
    """Give a site a bed, a bench, a raising bench or winter quarters."""
    require(actor, "place.add")
    if site.garden_id != actor.garden_id:
        raise Refused("That site does not belong to this garden.")
    if kind not in PlaceKind.values:
        raise Refused("Choose what kind of place it is.", "kind")
    place = Place(
        garden_id=actor.garden_id,
        site=site,
        name=plain_name(name, "place"),
        kind=kind,
        position=position,
        temperature_c=temperature_c,
        bright=bright,
    )
    _valid(place)
    place.save()
    return place


def variety(actor: Membership, *, species: str, name: str) -> Variety:
    """Return the garden's variety of that name, made now if it is new."""
    require(actor, "plant.add")
    if species not in CROPS:
        raise Refused("Choose the species from the list.", "species")
    clean = plain_name(name, "variety", "variety")
    try:
        with transaction.atomic():
            found, _ = Variety.objects.get_or_create(
                garden_id=actor.garden_id, species=species, name=clean
            )
    except IntegrityError:
        found = Variety.objects.get(garden_id=actor.garden_id, species=species, name=clean)
    return found


def known_zone(name: str) -> str:
    """Return ``name`` if it is a known time zone; raises Refused otherwise."""
    if name not in available_timezones():
        raise Refused(
            f"“{name[:60]}” is not a time zone. Choose one such as Europe/Madrid.", "time_zone"
        )
    return name


def _check(person: Person, password: str) -> None:
    try:
        person.full_clean(exclude=["password"])
    except ValidationError as problem:
        field, sentences = next(iter(problem.message_dict.items()))
        raise Refused(" ".join(sentences), field) from None
    try:
        validate_password(password, person)
    except ValidationError as problem:
        raise Refused(" ".join(problem.messages), "password") from None


def _valid(row: Site | Place) -> None:
    # NaN lies within every bound, because it compares with nothing.
    for name in ("latitude", "longitude", "temperature_c"):
        value = getattr(row, name, None)
        if value is not None and not math.isfinite(value):
            raise Refused("Give a number.", name)
    try:
        row.full_clean()
    except ValidationError as problem:
        field, sentences = next(iter(problem.message_dict.items()))
        if "unique" in str(problem).lower() or "already exists" in str(problem):
            raise Refused(
                f"There is a place or site “{row.name}” already. Choose another name.", "name"
            ) from None
        label = "" if field == "__all__" else field
        raise Refused(" ".join(sentences), label) from None

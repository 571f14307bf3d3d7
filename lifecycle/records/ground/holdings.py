"""Who holds a plot: one person, several, or nobody; common ground is everybody's."""

from collections.abc import Iterable
from datetime import date, datetime

from django.db import transaction
from django.db.models import Q

from lifecycle.care.wording import short_date
from lifecycle.models import BedHolding, Membership, Person, Place
from lifecycle.permissions import require
from lifecycle.records.refusal import Refused

EARLIEST = date(1950, 1, 1)


def holders_of(places: Iterable[Place | int], day: date) -> dict[int, list[Person]]:
    """Return who holds each of these places on a day, longest first. One query.

    A place that nobody holds is left out.
    """
    numbers = [place if isinstance(place, int) else place.pk for place in places]
    rows = (
        BedHolding.objects.filter(runs_on(day), place__in=numbers)
        .select_related("person")
        .order_by("since", "pk")
    )
    found: dict[int, list[Person]] = {}
    for row in rows:
        found.setdefault(row.place_id, []).append(row.person)
    return found


def beds_held_by(person: Person, garden_id: int, day: date) -> list[Place]:
    """Return the plots that a person holds in a garden on a day, in walking order."""
    held = BedHolding.objects.filter(runs_on(day), person=person, garden=garden_id)
    places = Place.objects.filter(pk__in=held.values("place")).select_related("site")
    return list(places.order_by("site", "position", "name", "pk"))


def runs_on(day: date) -> Q:
    """Return the condition of a holding that runs on a day; it ended on the day of ``until``."""
    return Q(since__lte=day) & (Q(until__isnull=True) | Q(until__gt=day))


def hold(actor: Membership, place: Place, person: Person, since: date, now: datetime) -> BedHolding:
    """Let a person hold a bed, alone or beside others; the bed is common ground no longer.

    Who holds it already goes on as they do. Raises Refused for somebody who does not belong to
    the garden, a place that is not a bed, or a day that cannot be.
    """
    require(actor, "bed.holders")
    _own_bed(actor, place)
    if not Membership.objects.filter(
        garden=place.garden_id, person=person, left_on__isnull=True
    ).exists():
        raise Refused(f"{person} does not belong to this garden. Choose a member.", "person")
    today = place.site.local_day(now)
    if not EARLIEST <= since <= today:
        raise Refused(
            f"{short_date(since)} cannot be. Give today, {short_date(today)}, or an earlier day.",
            "since",
        )
    with transaction.atomic():
        row = _locked(place)
        before = BedHolding.objects.filter(place=row, person=person).order_by("since", "pk").last()
        if before is not None and before.until is None:
            return before
        if before is not None and before.until is not None and since < before.until:
            raise Refused(
                f"{person} held it until {short_date(before.until)}. Give that day or a later one.",
                "since",
            )
        if row.common:
            row.common = False
            row.save(update_fields=["common"])
        return BedHolding.objects.create(
            garden_id=row.garden_id, place=row, person=person, since=since
        )


def let_go(
    actor: Membership, place: Place, person: Person, until: date, now: datetime
) -> BedHolding:
    """End a person's holding of a bed on a day: from then on they hold it no more.

    Raises Refused where they do not hold it, or for a day that cannot be.
    """
    require(actor, "bed.holders")
    _own_bed(actor, place)
    today = place.site.local_day(now)
    with transaction.atomic():
        row = _locked(place)
        held = BedHolding.objects.filter(place=row, person=person, until__isnull=True).first()
        if held is None:
            raise Refused(f"{person} does not hold {place}. Choose one of its holders.", "person")
        if not held.since <= until <= today:
            raise Refused(
                f"{short_date(until)} cannot be. Give a day from {short_date(held.since)}, when "
                f"they took it up, to today, {short_date(today)}.",
                "until",
            )
        held.until = until
        held.save(update_fields=["until"])
    return held


def set_common(actor: Membership, place: Place, common: bool) -> Place:
    """Make a bed common ground, which everybody tends, or a plot, which may be held.

    Raises Refused while somebody holds it.
    """
    require(actor, "bed.holders")
    _own_bed(actor, place)
    with transaction.atomic():
        row = _locked(place)
        held = BedHolding.objects.filter(place=row, until__isnull=True).select_related("person")
        names = [str(each.person) for each in held]
        if common and names:
            raise Refused(
                f"{place} is held by {' and '.join(names)}. End that first; then it can be common "
                "ground."
            )
        if row.common is not common:
            row.common = common
            row.save(update_fields=["common"])
    return row


def _locked(place: Place) -> Place:
    locked = Place.objects.select_for_update(of=("self",))
    return locked.select_related("site").get(pk=place.pk)


def _own_bed(actor: Membership, place: Place) -> None:
    if place.garden_id != actor.garden_id:
        raise Refused("That place does not belong to this garden.")
    if place.in_pots:
        raise Refused(f"{place} is not a bed. Only beds are held as plots.", "place")

"""What is found when somebody looks at a bed: in order, or to be put right by a day.

A notice changes no plan. It is for who held the plot when it was made, and only while they do: when
the plot passes on it stays with who inspects, until they close it, and the next holder reads none
of it.
"""

from collections.abc import Collection, Iterable
from datetime import date, datetime, timedelta

from django.db import transaction
from django.db.models import QuerySet

from lifecycle.handbook import days
from lifecycle.models import Inspection, Membership, Person, Place
from lifecycle.permissions import can, require
from lifecycle.records.crops.drafts import EARLIEST
from lifecycle.records.ground.holdings import holders_of
from lifecycle.records.refusal import Refused

FINDING_LENGTH = 300
LONGEST = timedelta(days=366)


def default_notice() -> timedelta:
    """Return how long holders usually have to put something right."""
    return timedelta(days("notice.put_right"))


def look(
    actor: Membership,
    place: Place,
    *,
    looked_on: date,
    in_order: bool,
    finding: str,
    put_right_by: date | None,
    now: datetime,
) -> Inspection:
    """Write down what was found at a place on a day, and who held it then.

    A finding that needs work names the day to put it right by; without one it gets the usual
    time from today. The same finding twice on a day is one. Raises Refused for what cannot be.
    """
    require(actor, "bed.inspect")
    if place.garden_id != actor.garden_id:
        raise Refused("That place does not belong to this garden.")
    today = place.site.local_day(now)
    finding = " ".join(finding.replace("\x00", " ").split())
    _check(looked_on, in_order, finding, today)
    by_day = None if in_order else put_right_by or today + default_notice()
    if by_day is not None and not today <= by_day <= today + LONGEST:
        raise Refused("Put right by: give a day from today on, within a year.", "put_right_by")
    with transaction.atomic():
        Place.objects.select_for_update(no_key=True).get(pk=place.pk)
        columns = {
            "place": place,
            "looked_on": looked_on,
            "by": actor.person,
            "in_order": in_order,
            "finding": finding,
            "put_right_by": by_day,
        }
        before = Inspection.objects.filter(**columns, closed_on__isnull=True).first()
        if before is not None:
            return before
        made = Inspection.objects.create(garden_id=actor.garden_id, at=now, **columns)
        made.told.set([] if in_order else holders(place, today))
    return made


def close(actor: Membership, inspection: Inspection, *, now: datetime) -> Inspection:
    """Close a notice: what was found is put right, or the plot has passed on.

    Closing twice is one closing. Raises Refused for a bed that was found in order.
    """
    require(actor, "bed.inspect")
    if inspection.garden_id != actor.garden_id:
        raise Refused("That does not belong to this garden.")
    with transaction.atomic():
        rows = Inspection.objects.select_for_update(of=("self",)).select_related("place__site")
        row = rows.get(pk=inspection.pk)
        if row.in_order:
            raise Refused("It was found in order: there is nothing to close.")
        if row.closed_on is None:
            row.closed_on, row.closed_by = row.place.site.local_day(now), actor.person
            row.save(update_fields=["closed_on", "closed_by"])
    return row


def notices_on(places: Iterable[Place], told: Person | None = None) -> list[Inspection]:
    """Return the open notices on several places, the most pressing first; one query, or none.

    ``told``: only those that this person was told of, who held the place then.
    """
    wanted = [place.pk for place in places]
    if not wanted:
        return []
    found = _open().filter(place__in=wanted)
    return list(found if told is None else found.filter(told=told))


def notices_for(reader: Membership, place: Place, today: date) -> list[Inspection]:
    """Return a place's open notices for the reader: all for who inspects, else their own."""
    return notices_by_place(reader, [place], today).get(place.pk, [])


def notices_by_place(
    reader: Membership, places: Collection[Place], today: date
) -> dict[int, list[Inspection]]:
    """Return by place the open notices that the reader may read; two queries at most.

    Who does not inspect reads those made while they held the place, as long as they hold it.
    """
    told = None
    if not can(reader, "bed.inspect"):
        held, told = holders_of(places, today), reader.person
        places = [each for each in places if told in held.get(each.pk, [])]
    found: dict[int, list[Inspection]] = {}
    for notice in notices_on(places, told):
        found.setdefault(notice.place_id, []).append(notice)
    return found


def _open() -> QuerySet[Inspection]:
    found = Inspection.objects.filter(in_order=False, closed_on__isnull=True)
    return found.select_related("place__site", "by").order_by("put_right_by", "pk")


def holders(place: Place, day: date) -> list[Person]:
    """Return who holds a place on a day and still belongs to its garden, by name."""
    held = holders_of([place], day).get(place.pk, [])
    members = Membership.objects.filter(
        garden=place.garden_id, left_on__isnull=True, person__in=held
    )
    here = set(members.values_list("person", flat=True))
    return sorted(
        {person for person in held if person.pk in here},
        key=lambda person: (person.name, person.pk),
    )


def _check(looked_on: date, in_order: bool, finding: str, today: date) -> None:
    if looked_on > today:
        raise Refused(
            f"{looked_on:%-d %B %Y} is in the future. Give today or an earlier date.", "looked_on"
        )
    if looked_on < max(EARLIEST, today - LONGEST):
        raise Refused("That is too long ago. Give a day of the last twelve months.", "looked_on")
    if in_order and finding:
        raise Refused(
            "You ticked “In order” and wrote what is to be put right. Tick “Something to put "
            "right”, or empty the field.",
            "finding",
        )
    if not in_order and not finding:
        raise Refused("Say in a few words what is to be put right.", "finding")
    if len(finding) > FINDING_LENGTH:
        raise Refused(
            f"The finding has {len(finding)} characters; keep it to {FINDING_LENGTH}.", "finding"
        )

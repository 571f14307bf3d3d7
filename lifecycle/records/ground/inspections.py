"""What is found when somebody looks at a bed: in order, or to be put right by a day.

A notice changes no plan. It ends when somebody closes it, or the plot passes on.
"""

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


def open_notices(place: Place) -> QuerySet[Inspection]:
    """Return what was found at a place and is not closed, the most pressing first."""
    found = Inspection.objects.filter(place=place, in_order=False, closed_on__isnull=True)
    return found.select_related("place__site", "by").order_by("put_right_by", "pk")


def notices_for(reader: Membership, place: Place, today: date) -> list[Inspection]:
    """Return a place's open notices for who may read them: its holders and who inspects."""
    own = holders_of([place], today).get(place.pk, [])
    if not can(reader, "bed.inspect") and reader.person not in own:
        return []
    return list(open_notices(place))


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
    if not in_order and not finding:
        raise Refused("Say in a few words what is to be put right.", "finding")
    if len(finding) > FINDING_LENGTH:
        raise Refused(
            f"The finding has {len(finding)} characters; keep it to {FINDING_LENGTH}.", "finding"
        )

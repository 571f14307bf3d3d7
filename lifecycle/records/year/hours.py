"""Time that members say they gave, kept for themselves where the garden keeps such a ledger."""

from datetime import date, datetime
from uuid import UUID

from django.db import transaction

from lifecycle.models import Garden, Membership, WorkHours
from lifecycle.permissions import require
from lifecycle.records.crops.beginnings import USED
from lifecycle.records.crops.drafts import EARLIEST
from lifecycle.records.refusal import Refused

LONGEST_MINUTES = 24 * 60
WHAT_LENGTH = 100
NOT_KEPT = "This garden keeps no hours. Ask an owner if you would like it to."


def log_hours(
    actor: Membership, *, uuid: UUID, worked_on: date, minutes: int, what: str, now: datetime
) -> WorkHours:
    """Set down time the actor gave on a day. The same ``uuid`` twice is logged once.

    Raises Refused while the garden keeps no hours, and for more than a day holds.
    """
    require(actor, "hours.own")
    what = " ".join(what.replace("\x00", " ").split())
    if len(what) > WHAT_LENGTH:
        raise Refused(f"What: keep it to {WHAT_LENGTH} characters (it has {len(what)}).", "what")
    if not 1 <= minutes <= LONGEST_MINUTES:
        raise Refused("Time: give one minute to 24 hours.", "minutes")
    if worked_on < EARLIEST:
        raise Refused(
            f"{worked_on:%-d %B %Y} is too long ago. Give a date after 1950.", "worked_on"
        )
    with transaction.atomic():
        # The garden's row keeps the ledger from being ended while a row is written.
        garden = Garden.objects.select_for_update(no_key=True).get(pk=actor.garden_id)
        _check_garden(garden, worked_on, now)
        row, made = WorkHours.objects.get_or_create(
            uuid=uuid,
            defaults={
                "garden": garden,
                "person": actor.person,
                "worked_on": worked_on,
                "minutes": minutes,
                "what": what,
                "at": now,
            },
        )
    if not made and (row.garden_id, row.person_id) != (actor.garden_id, actor.person_id):
        raise Refused(USED)
    return row


def strike_hours(actor: Membership, row: WorkHours, *, now: datetime) -> WorkHours:
    """Draw a line through the actor's own hours. Striking twice is one strike."""
    require(actor, "hours.own")
    if (row.garden_id, row.person_id) != (actor.garden_id, actor.person_id):
        raise Refused("These hours are not yours.")
    with transaction.atomic():
        current = WorkHours.objects.select_for_update(of=("self",)).get(pk=row.pk)
        if current.struck_at is None:
            current.struck_at = now
            current.save(update_fields=["struck_at"])
    return current


def _check_garden(garden: Garden, worked_on: date, now: datetime) -> None:
    if not garden.hours_ledger:
        raise Refused(NOT_KEPT)
    site = garden.sites.order_by("pk").first()
    today = site.local_day(now) if site is not None else now.date()
    if worked_on > today:
        raise Refused(
            f"{worked_on:%-d %B %Y} is in the future. Give today or an earlier date.", "worked_on"
        )

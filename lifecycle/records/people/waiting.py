"""The waiting list: who asked for a place, in the order in which they asked."""

from datetime import date, datetime

from django.db import transaction
from django.db.models import QuerySet

from lifecycle.care.wording import short_date
from lifecycle.models import Garden, Invitation, Membership, WaitingPerson
from lifecycle.permissions import require
from lifecycle.records.crops.beginnings import plain_name
from lifecycle.records.people.addresses import plain_address
from lifecycle.records.people.invitations import invite
from lifecycle.records.people.memberships import hold_garden, local_day
from lifecycle.records.refusal import Refused

NOTE_LENGTH = 200
FIRST_YEAR = 1950


def still_waiting(rows: "QuerySet[WaitingPerson]") -> "QuerySet[WaitingPerson]":
    """Narrow to those who are neither invited nor taken off."""
    return rows.filter(invited_at__isnull=True, removed_at__isnull=True)


def add_waiting(
    actor: Membership, *, name: str, email: str, note: str, asked_on: date, now: datetime
) -> WaitingPerson:
    """Put somebody on the list, from the day they asked. Raises Refused when they are on it."""
    require(actor, "people.invite")
    today = local_day(actor.garden_id, now)
    if not date(FIRST_YEAR, 1, 1) <= asked_on <= today:
        raise Refused(f"Give the day on which they asked: from {FIRST_YEAR} to today.", "asked_on")
    address = plain_address(email)
    with transaction.atomic():
        hold_garden(actor.garden_id)
        before = _of(actor.garden_id, address)
        if before is not None:
            raise Refused(
                f"{address} is on the list already, since {short_date(before.asked_on)}.", "email"
            )
        if Membership.objects.filter(
            garden=actor.garden_id, person__email=address, left_on__isnull=True
        ).exists():
            raise Refused(f"{address} belongs to the garden already.", "email")
        row = _row(actor.garden, name, address, note, asked_on, now)
        row.save(force_insert=True)
        return row


def ask_to_wait(garden: Garden, *, name: str, email: str, note: str, now: datetime) -> None:
    """Put a stranger who has the garden's link on the list.

    For an address that is on it or belongs to a member an empty row is written that is off the
    list from the start: the same work, so that nobody learns who belongs to the garden.
    """
    address, clean = plain_address(email), plain_name(name, "person")
    with transaction.atomic():
        hold_garden(garden.pk)
        known = Membership.objects.filter(
            garden=garden, person__email=address, left_on__isnull=True
        ).exists()
        waits = _of(garden.pk, address) is not None
        row = _row(garden, clean, address, note, local_day(garden.pk, now), now)
        if known or waits:
            row.name = row.email = row.note = ""
            row.removed_at = now
        row.save(force_insert=True)


def remove_waiting(actor: Membership, waiting: WaitingPerson, *, now: datetime) -> None:
    """Take somebody off the list; once off, nothing more happens."""
    require(actor, "people.invite")
    _check_own(actor, waiting)
    still_waiting(WaitingPerson.objects.filter(pk=waiting.pk)).update(removed_at=now)


def invite_waiting(actor: Membership, waiting: WaitingPerson, *, now: datetime) -> Invitation:
    """Invite somebody from the list, in or out of turn. Raises Refused when that is done."""
    require(actor, "people.invite")
    _check_own(actor, waiting)
    with transaction.atomic():
        hold_garden(actor.garden_id)
        if not still_waiting(WaitingPerson.objects.filter(pk=waiting.pk)).exists():
            raise Refused(f"{waiting.name} is not on the list any more.")
        # Who wrote the name is not known: it may have come by the garden's link.
        return invite(actor, email=waiting.email, name=waiting.name, by_name=False, now=now)


def _check_own(actor: Membership, waiting: WaitingPerson) -> None:
    if waiting.garden_id != actor.garden_id:
        raise Refused("Choose somebody from the list of this garden.")


def _of(garden_id: int, address: str) -> WaitingPerson | None:
    return still_waiting(WaitingPerson.objects.filter(garden=garden_id, email=address)).first()


def _row(
    garden: Garden, name: str, address: str, note: str, asked_on: date, now: datetime
) -> WaitingPerson:
    return WaitingPerson(
        garden=garden,
        name=plain_name(name, "person"),
        email=address,
        note=" ".join(note.replace("\x00", " ").split())[:NOTE_LENGTH],
        asked_on=asked_on,
        made_at=now,
    )

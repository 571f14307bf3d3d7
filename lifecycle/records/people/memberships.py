"""What a garden knows of its members: their roles, and what they say about themselves."""

from collections.abc import Iterable
from datetime import UTC, date, datetime

from django.core.exceptions import PermissionDenied
from django.db import transaction

from lifecycle.care.skills import SKILLS
from lifecycle.models import Garden, Membership, Role, Site
from lifecycle.permissions import can, require
from lifecycle.records.people import audit
from lifecycle.records.people.leaving_ends import stop_working
from lifecycle.records.people.people import plain_phone
from lifecycle.records.refusal import Refused

MOST_MINUTES = 40 * 60
NAME_LENGTH = 60
LAST_OWNER = "A garden needs an owner, and this is its last one. Make somebody else an owner first."


def hold_garden(garden_id: int) -> None:
    """Hold a garden's row inside a transaction: who belongs to it changes one at a time."""
    list(Garden.objects.select_for_update(no_key=True).filter(pk=garden_id).values_list("pk"))


def local_day(garden_id: int, now: datetime) -> date:
    """Return the date at the garden's first site; a garden without ground keeps to UTC."""
    site = Site.objects.filter(garden=garden_id).order_by("pk").first()
    return site.local_day(now) if site is not None else now.astimezone(UTC).date()


def close_earlier(member: Membership) -> None:
    """End what earlier memberships of the same person in the garden still let them do.

    Nobody comes back by an older one, and what they wished for their name then is over.
    """
    Membership.objects.filter(garden=member.garden_id, person=member.person_id).exclude(
        pk=member.pk
    ).update(come_back_by=None, nameless=False)


def keep_an_owner(member: Membership) -> None:
    """Raise Refused if the garden would be without an owner when ``member`` is none any more.

    Call it inside the transaction that changes the role or ends the membership: it holds the
    garden, so that two owners cannot step down at the same moment.
    """
    hold_garden(member.garden_id)
    owners = Membership.objects.filter(
        garden=member.garden_id, role=Role.OWNER, left_on__isnull=True
    ).values_list("pk", flat=True)
    if set(owners) == {member.pk}:
        raise Refused(LAST_OWNER, "role")


def change_role(actor: Membership, member: Membership, role: str, *, now: datetime) -> None:
    """Give a member another role; it counts from their next page on.

    Whoever does no work from then on gives back their tasks and turns and ends their holdings.
    Raises Refused for the last owner, and PermissionDenied for anybody but an owner.
    """
    require(actor, "role.edit")
    if role not in Role.values:
        raise Refused("Choose one of the garden’s roles.", "role")
    with transaction.atomic():
        hold_garden(actor.garden_id)
        found = held_member(actor, member)
        if found.role == role:
            return
        if found.role == Role.OWNER:
            keep_an_owner(found)
        was, found.role = found.role, role
        found.save(update_fields=["role"])
        if not can(found, "task.do"):
            stop_working(found, local_day(found.garden_id, now), by=actor.person, now=now)
        audit.note(actor, "role_changed", now=now, about=found.person, was=was, role=role)


def held_member(actor: Membership, member: Membership) -> Membership:
    """Return the member's row, held; raises Refused when they are not in the garden any more."""
    found = (
        Membership.objects.select_for_update(of=("self",))
        .select_related("person")
        .filter(pk=member.pk, garden=actor.garden_id, left_on__isnull=True)
        .first()
    )
    if found is None:
        raise Refused("They do not belong to the garden any more.")
    return found


def check_may_take_out(actor: Membership, member: Membership) -> None:
    """Raise unless ``actor`` may end ``member``'s membership.

    Coordinators take out members and committee; owners and coordinators only an owner takes out,
    and nobody takes out themselves: that is leaving.
    """
    require(actor, "people.edit")
    if member.pk == actor.pk:
        raise Refused("To go yourself, use “Leave this garden” under More.")
    if member.role in (Role.OWNER, Role.COORDINATOR):
        try:
            require(actor, "role.edit")
        except PermissionDenied:
            raise PermissionDenied(
                "Only an owner takes an owner or a coordinator out of the garden."
            ) from None


def note_waiver(
    actor: Membership, member: Membership, signed_on: date | None, *, now: datetime
) -> None:
    """Note on which day a member signed the waiver on paper; None: not signed after all."""
    require(actor, "people.edit")
    if signed_on is not None and signed_on > local_day(actor.garden_id, now):
        raise Refused("The day lies ahead. Give the day on which it was signed.", "signed_on")
    with transaction.atomic():
        found = held_member(actor, member)
        found.waiver_signed_on = signed_on
        found.waiver_noted_by = None if signed_on is None else actor.person
        found.save(update_fields=["waiver_signed_on", "waiver_noted_by"])


def describe_self(
    member: Membership,
    *,
    skills: Iterable[str],
    minutes_a_week: int | None,
    emergency_name: str,
    emergency_phone: str,
) -> None:
    """Keep what a member says about themselves in this garden. Raises Refused."""
    require(member, "own.edit")
    chosen = set(skills)
    if not chosen <= SKILLS.keys():
        raise Refused("Choose skills from the list.", "skills")
    if minutes_a_week is not None and not 0 <= minutes_a_week <= MOST_MINUTES:
        raise Refused(f"Give minutes from 0 to {MOST_MINUTES}.", "minutes_a_week")
    name = " ".join(emergency_name.replace("\x00", " ").split())
    if len(name) > NAME_LENGTH:
        raise Refused(f"Keep the name to {NAME_LENGTH} characters.", "emergency_name")
    try:
        phone = plain_phone(emergency_phone)
    except Refused as refusal:
        raise Refused(str(refusal), "emergency_phone") from None
    if bool(name) != bool(phone):
        field = "emergency_phone" if name else "emergency_name"
        raise Refused("Give both a name and a telephone number, or neither.", field)
    # Only these columns: a role changed meanwhile stays changed.
    Membership.objects.filter(pk=member.pk, left_on__isnull=True).update(
        skills=[key for key in SKILLS if key in chosen],
        minutes_a_week=minutes_a_week,
        emergency_name=name,
        emergency_phone=phone,
    )


def read_safety(member: Membership, *, now: datetime) -> None:
    """Note that a member has read the garden's safety notice. Raises Refused without one."""
    require(member, "own.edit")
    if not member.garden.safety:
        raise Refused("The garden has no safety notice.")
    Membership.objects.filter(pk=member.pk, left_on__isnull=True).update(safety_read_at=now)

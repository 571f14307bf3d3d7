"""Joining a garden by an invitation: as somebody new, or as somebody who is known here already.

Whoever opens the letter has shown that the address is theirs. That makes an account for an
address without one; it never opens an account that exists.
"""

from datetime import datetime

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from lifecycle.models import Garden, Invitation, Membership, Person, Role
from lifecycle.permissions import can
from lifecycle.records.crops.beginnings import plain_name
from lifecycle.records.ground import holdings
from lifecycle.records.people import audit
from lifecycle.records.people.invitation_standing import Standing, standing_for_reader, why_not
from lifecycle.records.people.memberships import close_earlier, hold_garden, local_day
from lifecycle.records.people.people import enrol
from lifecycle.records.refusal import Refused

KNOWN = "This address has an account already. Sign in first, then open the letter’s link again."
SENT_ANEW = "A newer letter was sent since. Use the link in the newest one."


def has_account(address: str) -> bool:
    """Return whether somebody signs in with this address. Tell it only to who reads its mail."""
    return Person.objects.filter(email=address).exists()


def join_as_new(
    invitation: Invitation, *, name: str, password: str, safety_read: bool, now: datetime
) -> Membership:
    """Make a person with the invitation's address, and a member of the garden.

    Without a password they sign in by a mailed link. Raises Refused when the invitation cannot
    be used any more, and when the address has an account: that is opened by signing in only.
    """
    with transaction.atomic():
        found = _usable(invitation, now)
        _check_safety(found.garden, safety_read)
        if has_account(found.email):
            raise Refused(KNOWN)
        person = Person(email=found.email, name=plain_name(name, "person"))
        _set_password(person, password)
        _units_of(found.garden, person)
        try:
            with transaction.atomic():
                person.save()
        except IntegrityError:
            # The same person, joining another garden at this moment.
            raise Refused(KNOWN) from None
        return _join(found, person, safety_read, now)


def join_as(
    invitation: Invitation, person: Person, *, safety_read: bool, now: datetime
) -> Membership:
    """Make somebody who is signed in a member. Raises Refused when they are one already."""
    with transaction.atomic():
        found = _usable(invitation, now)
        if Membership.objects.filter(
            garden=found.garden, person=person, left_on__isnull=True
        ).exists():
            raise Refused("You belong to this garden already.")
        _check_safety(found.garden, safety_read)
        return _join(found, person, safety_read, now)


def _usable(invitation: Invitation, now: datetime) -> Invitation:
    """Return the invitation, held together with its garden. Raises Refused unless it waits."""
    hold_garden(invitation.garden_id)
    found = (
        Invitation.objects.select_for_update(of=("self",))
        .select_related("garden", "place__site", "made_by")
        .get(pk=invitation.pk)
    )
    standing = standing_for_reader(found, now)
    if standing != Standing.WAITING:
        raise Refused(f"{why_not(standing)} Ask a coordinator of the garden for a new one.")
    if found.nonce != invitation.nonce:
        raise Refused(SENT_ANEW)
    return found


def _check_safety(garden: Garden, safety_read: bool) -> None:
    if garden.safety and not safety_read:
        raise Refused("Read the safety notice, and tick that you have.", "safety_read")


def _set_password(person: Person, password: str) -> None:
    if not password:
        person.set_unusable_password()
        return
    try:
        validate_password(password, person)
    except ValidationError as problem:
        raise Refused(" ".join(problem.messages), "password") from None
    person.set_password(password)


def _units_of(garden: Garden, person: Person) -> None:
    """Let a newcomer read the units that the garden's first owner reads."""
    first = (
        Membership.objects.filter(garden=garden, role=Role.OWNER, left_on__isnull=True)
        .select_related("person")
        .order_by("joined_on", "pk")
        .first()
    )
    if first is not None:
        person.temperature, person.length = first.person.temperature, first.person.length


def _join(invitation: Invitation, person: Person, safety_read: bool, now: datetime) -> Membership:
    day = local_day(invitation.garden_id, now)
    member = enrol(invitation.garden, person, invitation.role, joined_on=day)
    close_earlier(member)
    if safety_read and invitation.garden.safety:
        member.safety_read_at = now
        member.save(update_fields=["safety_read_at"])
    invitation.used_at, invitation.used_by = now, person
    invitation.save(update_fields=["used_at", "used_by"])
    given = _give_bed(invitation, person, now)
    audit.note(
        member,
        "joined",
        now=now,
        about=person,
        invitation=invitation.pk,
        role=invitation.role,
        **({} if given is None else {"bed_given": given}),
    )
    return member


def _give_bed(invitation: Invitation, person: Person, now: datetime) -> bool | None:
    """Let the newcomer hold the bed they were invited to; None: to none.

    It is the inviter who gives it. Where they may not any more, or the bed takes no holder, the
    person joins all the same and a coordinator sees to the bed.
    """
    if invitation.place is None:
        return None
    giver = (
        Membership.objects.filter(
            garden=invitation.garden_id, person=invitation.made_by_id, left_on__isnull=True
        )
        .select_related("garden", "person")
        .first()
    )
    if giver is None or not can(giver, "bed.holders"):
        return False
    bed = invitation.place
    try:
        with transaction.atomic():
            holdings.hold(giver, bed, person, bed.site.local_day(now), now)
    except Refused:
        return False
    return True

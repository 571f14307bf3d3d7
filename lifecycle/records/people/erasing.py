"""A person goes out of a garden's record, or out of the whole site; what was done stays.

In a garden everything that named them names a stand-in instead, one for each person who left, so
that two of them stay two. Entries, counts and projections are the same as before, and so are the
names of things. Names that somebody else typed in other words, or spelled otherwise, nobody can
find; the page says so.
"""

from collections.abc import Collection, Iterator
from datetime import datetime
from uuid import uuid4

from django.contrib.sessions.models import Session
from django.db import transaction
from django.db.models import Q

from lifecycle.models import (
    AuditNote,
    Away,
    CalendarItem,
    Garden,
    Invitation,
    Letter,
    Membership,
    Message,
    Person,
    Place,
    Plant,
    Site,
    Variety,
    WaitingPerson,
    WorkHours,
)
from lifecycle.records.people import (
    letters,
    sessions,
)
from lifecycle.records.people.erasing_words import take_out_of_garden
from lifecycle.records.people.name_words import FORMER, Known, Scrubber
from lifecycle.records.people.person_columns import person_columns
from lifecycle.records.secrets import new_nonce

NAME = FORMER.capitalize()


def take_name_out(member: Membership, *, now: datetime) -> bool:
    """Take a former member's name out of the garden they left; False if there was nothing to do.

    Does nothing for somebody who is a member again. Any number of callers do it once.
    """
    person = member.person
    if _is_here(member):
        Membership.objects.filter(pk=member.pk).update(nameless=False)
        return False
    # First the words, one row after the other: until the last step the name is still known.
    take_out_of_garden(member.garden_id, scrubber_of(person, member.garden_id))
    with transaction.atomic():
        list(Person.objects.select_for_update().filter(pk=person.pk))
        found = Membership.objects.select_for_update(of=("self",)).get(pk=member.pk)
        if found.name_gone_at is not None or found.person_id != person.pk or _is_here(found):
            return False
        _stand_in(member.garden_id, person, now)
    return True


def forget_contacts(*, now: datetime) -> int:
    """Forget whom to call for people who cannot come back any more; returns for how many."""
    over = Q(come_back_by__lte=now) | Q(come_back_by__isnull=True)
    gone = Membership.objects.filter(over, left_on__isnull=False)
    return gone.exclude(emergency_name="", emergency_phone="").update(
        emergency_name="", emergency_phone=""
    )


def erase_person(person: Person, *, now: datetime) -> bool:
    """Erase somebody whose time to come back is past, in every garden and here.

    False where they belong to a garden again, which keeps the account, or are erased already.
    """
    here = Membership.objects.filter(person=person, left_on__isnull=True)
    if here.exists():
        Person.objects.filter(pk=person.pk).update(erase_after=None)
        return False
    gardens = _gardens_of(person)
    for garden_id in gardens:
        take_out_of_garden(garden_id, scrubber_of(person, garden_id))
    with transaction.atomic():
        found = Person.objects.select_for_update().get(pk=person.pk)
        due = found.erase_after is not None and found.erase_after <= now
        if not due or found.erased_at is not None or here.exists():
            return False
        addresses = _addresses_of(found)
        for garden_id in _gardens_of(found):
            _stand_in(garden_id, found, now)
        _forget_addresses(addresses, None, now)
        _delete_what_is_nobodys_garden(found, addresses)
        _wipe(found, now)
    return True


def _is_here(member: Membership) -> bool:
    return Membership.objects.filter(
        garden=member.garden_id, person=member.person_id, left_on__isnull=True
    ).exists()


def scrubber_of(person: Person, garden_id: int) -> Scrubber:
    """Return what takes somebody out of a garden's words: their names, addresses and number.

    A name that somebody else of the garden has too, or that one of its things bears, stays.
    """
    taken = {name.casefold() for name in _names_in_use(person, garden_id)}
    names = [person.name, *person.former_names]
    known = Known(
        names=[name for name in names if name.casefold() not in taken],
        addresses=sorted(_addresses_of(person)),
        phones=[person.phone],
    )
    return Scrubber([known], FORMER)


def _names_in_use(person: Person, garden_id: int) -> Iterator[str]:
    """Yield the names of everybody else of a garden, and of its ground and plants."""
    others = Person.objects.filter(memberships__garden=garden_id).exclude(pk=person.pk)
    yield from others.values_list("name", flat=True)
    yield from Garden.objects.filter(pk=garden_id).values_list("name", flat=True)
    for table in (Site, Place, Variety, Plant):
        rows = table._base_manager.filter(garden=garden_id)
        yield from rows.values_list("name", flat=True).distinct()


def _addresses_of(person: Person) -> set[str]:
    """Return the addresses of somebody: their own, and those at which they were invited.

    One with which somebody else signs in is not theirs: they were handed that letter.
    """
    used = Invitation.objects.filter(used_by=person).values_list("email", flat=True)
    found = {person.email, *(email.lower() for email in used)}
    others = Person.objects.filter(email__in=found).exclude(pk=person.pk)
    return found - set(others.values_list("email", flat=True))


def _gardens_of(person: Person) -> list[int]:
    """Return every garden that names the person anywhere."""
    found: set[int] = set()
    for each in person_columns():
        if each.way:
            rows = each.table._base_manager.filter(**{each.column: person})
            found.update(rows.order_by().values_list(each.way, flat=True).distinct())
    return sorted(found)


def _stand_in(garden_id: int, person: Person, now: datetime) -> Person:
    """Let a stand-in take the person's place in one garden, inside the caller's transaction."""
    _delete_own_rows(garden_id, person)
    _forget_addresses(_addresses_of(person), garden_id, now)
    stand_in = Person.objects.create_user(
        f"former-{uuid4()}@former.invalid", None, name=NAME, is_active=False
    )
    for each in person_columns():
        if each.way:
            # The plain manager writes to what is written once too. That is meant: what happened
            # and when stays as it was written, and only who did it is nobody's any more.
            each.table._base_manager.filter(**{each.way: garden_id, each.column: person}).update(
                **{each.column: stand_in}
            )
    Membership.objects.filter(garden=garden_id, person=stand_in).update(
        emergency_name="",
        emergency_phone="",
        skills=[],
        minutes_a_week=None,
        waiver_signed_on=None,
        nameless=True,
        name_gone_at=now,
    )
    AuditNote.objects.create(garden_id=garden_id, at=now, by=None, about=stand_in, act="erased")
    return stand_in


def _delete_own_rows(garden_id: int, person: Person) -> None:
    """Delete what was only ever for them; what they did is the garden's and stays."""
    CalendarItem.objects.filter(garden=garden_id, person=person).delete()
    Message.objects.filter(garden=garden_id, person=person).delete()
    Away.objects.filter(garden=garden_id, person=person).delete()
    # The hours still count in the garden's report; what they were for, only the person saw.
    WorkHours.objects.filter(garden=garden_id, person=person).update(what="")


def _forget_addresses(addresses: Collection[str], garden_id: int | None, now: datetime) -> None:
    """Take addresses off the invitations and the waiting list of a garden; None: of every one.

    An invitation that still waits is taken back with that: nobody reads its letter any more.
    """
    here = Q() if garden_id is None else Q(garden=garden_id)
    theirs = Q()
    for address in addresses:
        theirs |= Q(email__iexact=address)
    for invitation in Invitation.objects.filter(here & theirs):
        Letter.objects.filter(invitation=invitation).delete()
        invitation.email = f"former-{uuid4()}@former.invalid"
        invitation.name = ""
        invitation.nonce = new_nonce()
        if invitation.used_at is None and invitation.revoked_at is None:
            invitation.revoked_at = now
        invitation.save(update_fields=["email", "name", "nonce", "revoked_at"])
    WaitingPerson.objects.filter(here & theirs).delete()


def _delete_what_is_nobodys_garden(person: Person, addresses: Collection[str]) -> None:
    """Delete the rows that belong to the person and to no garden, whatever their table."""
    for each in person_columns():
        if not each.way:
            each.table._base_manager.filter(**{each.column: person}).delete()
    for address in addresses:
        letters.forget(address)
    sessions.forget_failures(person.email)
    for session in Session.objects.iterator():
        if session.get_decoded().get("_auth_user_id") == str(person.pk):
            session.delete()


def _wipe(person: Person, now: datetime) -> None:
    person.name, person.email = NAME, f"erased-{uuid4()}@former.invalid"
    person.phone, person.is_active, person.former_names = "", False, []
    person.set_unusable_password()
    person.session_nonce = new_nonce()
    person.last_login = person.last_seen_on = None
    person.erase_after, person.erased_at = None, now
    person.save(
        update_fields=[
            *("name", "former_names", "email", "phone", "is_active", "password", "session_nonce"),
            *("last_login", "last_seen_on", "erase_after", "erased_at"),
        ]
    )

"""Asking to be erased everywhere, and thinking better of it."""

from datetime import datetime, timedelta

from django.db import transaction

from lifecycle.models import Letter, Membership, Person
from lifecycle.records.people import letters
from lifecycle.records.people.leaving import WINDOW, depart, stop_everything
from lifecycle.records.refusal import Refused

LAST_WORD = timedelta(days=1)
"""How long before erasure the last letter goes out."""


def ask_to_be_erased(person: Person, *, now: datetime) -> Person:
    """Leave every garden, stop everything at once, and be erased once WINDOW is past.

    Raises Refused for the last owner of a garden with other people in it, naming it.
    """
    with transaction.atomic():
        found = Person.objects.select_for_update().get(pk=person.pk)
        if found.erase_after is not None:
            raise Refused("You asked for this already. Nothing more needs to be done.")
        here = Membership.objects.filter(person=found, left_on__isnull=True)
        for member in here.select_related("garden", "person").order_by("garden", "pk"):
            try:
                depart(member, passings=(), nameless=True, now=now)
            except Refused as refusal:
                why = str(refusal)
                raise Refused(f"{member.garden}: {why[:1].lower()}{why[1:]}") from None
        Person.objects.filter(pk=found.pk).update(erase_after=now + WINDOW)
        found.refresh_from_db()
        stop_everything(found)
        letters.write(
            found.email,
            Letter.About.LEAVING,
            now=now,
            person=found,
            data={"account": True},
            lasts=WINDOW,
        )
    return found


def keep_account(person: Person, *, now: datetime) -> Person:
    """Take the wish to be erased back. Raises Refused when it is too late.

    The gardens that were left stay left; each can be come back to while its own time runs, and
    those that were left before keep or lose the name as it was chosen then.
    """
    with transaction.atomic():
        found = Person.objects.select_for_update().get(pk=person.pk)
        if found.erased_at is not None or (found.erase_after or now) <= now:
            raise Refused("There is nothing to take back: this account is not being erased.")
        Membership.objects.filter(
            person=found, come_back_by=found.erase_after, name_gone_at__isnull=True
        ).update(nameless=False)
        found.erase_after = None
        found.save(update_fields=["erase_after"])
    return found


def write_last_word(person: Person, *, now: datetime) -> bool:
    """Write the last letter, once, to somebody who is to be erased; False if it was written."""
    with transaction.atomic():
        found = Person.objects.select_for_update().get(pk=person.pk)
        if found.erase_after is None or found.erased_at is not None:
            return False
        before = Letter.objects.filter(
            person=found,
            about=Letter.About.ERASED,
            made_at__gt=found.erase_after - WINDOW,
        )
        if before.exists():
            return False
        letters.write(found.email, Letter.About.ERASED, now=now, person=found, lasts=2 * LAST_WORD)
    return True

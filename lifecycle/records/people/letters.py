"""Mail to one address: writing it down, and the link to sign in that works once.

What a letter says is made when it is sent. Whether anybody has the address of a link to sign in
is found out only then, so that asking for one is the same work for every address.
"""

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any, NamedTuple
from uuid import UUID

from django.db import transaction
from django.db.models import QuerySet

from lifecycle.models import Invitation, Letter, Person
from lifecycle.records.people.sessions import end_links, who_signs_in
from lifecycle.records.secrets import code_for, is_code, new_nonce

PURPOSE = "sign-in"
LINK_LASTS = timedelta(minutes=30)
"""How long a mailed link to sign in works."""
_NOBODY = UUID(int=0)


class Opened(NamedTuple):
    """Who used a link, what was asked for with it, and when."""

    person: Person
    data: Mapping[str, Any]
    asked_at: datetime


def write(
    email: str,
    about: str,
    *,
    now: datetime,
    person: Person | None = None,
    invitation: Invitation | None = None,
    data: Mapping[str, Any] | None = None,
    lasts: timedelta,
) -> Letter:
    """Write down one letter, to be sent by the next dispatch and by the end of ``lasts``."""
    return Letter.objects.create(
        email=email.strip().lower(),
        about=about,
        person=person,
        invitation=invitation,
        data=dict(data or {}),
        nonce=new_nonce(),
        made_at=now,
        not_before=now,
        expires_at=now + lasts,
    )


def ask_for_link(email: str, *, now: datetime, data: Mapping[str, Any] | None = None) -> Letter:
    """Write down that ``email`` is to get a link to sign in, whether or not anybody has it."""
    return write(email, Letter.About.SIGN_IN, now=now, data=data, lasts=LINK_LASTS)


def link_path(letter: Letter) -> str:
    """Return the path of the page at which a letter's link is used."""
    return f"/sign-in/l/{letter.pk}/{code_for(PURPOSE, letter.pk, letter.nonce)}"


def is_open(pk: int, code: str, *, now: datetime) -> bool:
    """Return whether this link still signs somebody in. Changes nothing."""
    return _opened(Letter.objects.all(), pk, code, now) is not None


@transaction.atomic
def open_link(pk: int, code: str, *, now: datetime) -> Opened | None:
    """Use a link: who it signs in, or None for one that is used, too old or unknown.

    It works once, and ends every other link that waits for the same address.
    """
    found = _opened(Letter.objects.select_for_update(), pk, code, now)
    if found is None:
        return None
    letter, person = found
    letter.used_at = now
    letter.save(update_fields=["used_at"])
    end_links(letter.email)
    return Opened(person, letter.data, letter.made_at)


def forget(email: str) -> None:
    """Delete every letter to ``email``: nothing is left of it here."""
    Letter.objects.filter(email=email.strip().lower()).delete()


def _opened(
    letters: QuerySet[Letter], pk: int, code: str, now: datetime
) -> tuple[Letter, Person] | None:
    letter = letters.filter(pk=pk, about=Letter.About.SIGN_IN).first()
    # A number that no letter bears costs the same comparison.
    right = is_code(code, PURPOSE, pk, letter.nonce if letter else _NOBODY)
    if letter is None or not right or letter.used_at is not None or letter.expires_at <= now:
        return None
    # One that was mailed but not stamped yet is waiting, and works.
    if letter.state not in (Letter.State.SENT, Letter.State.PENDING):
        return None
    person = who_signs_in(letter.email)
    return None if person is None else (letter, person)

"""The address that stops one kind of e-mail for one person, without signing in.

Its code is worked out from the person, the kind and the site's key, so that the address in an
old mail still works and no table holds a secret. It can do nothing but set that one choice,
which is why it needs no nonce by which it could be revoked.
"""

from uuid import UUID, uuid5

from lifecycle.models import Message, Person
from lifecycle.records.messages.message_choices import DEFAULTS, choose, wants
from lifecycle.records.secrets import code_for, is_code

PURPOSE = "unsubscribe"
_NAMESPACE = UUID("5b1f3a52-2a0f-4a5e-9a6d-6f0f9b6f2c11")
_EMAIL = Message.Channel.EMAIL


def stop_path(person_id: int, kind: str) -> str:
    """Return the path of the page that stops ``kind`` by e-mail for a person."""
    return f"/u/{person_id}/{kind}/{code_for(PURPOSE, person_id, _nonce(kind))}"


def reader_of(person_id: int, kind: str, code: str) -> Person | None:
    """Return whose address this is; None for a wrong code, an unknown kind or nobody."""
    if kind not in DEFAULTS or not is_code(code, PURPOSE, person_id, _nonce(kind)):
        return None
    return Person.objects.filter(pk=person_id, is_active=True).first()


def set_by_email(person: Person, kind: str, *, wanted: bool) -> None:
    """Set whether the person gets ``kind`` by e-mail; what waits is looked at again when sent."""
    choose(person, kind, _EMAIL, wanted)


def gets_by_email(person: Person, kind: str) -> bool:
    """Return whether the person gets ``kind`` by e-mail."""
    return wants(person, kind, _EMAIL)


def _nonce(kind: str) -> UUID:
    return uuid5(_NAMESPACE, kind)

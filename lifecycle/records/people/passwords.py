"""A person's password: set for the first time, or changed."""

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import transaction

from lifecycle.models import Person
from lifecycle.records.people.sessions import end_all
from lifecycle.records.refusal import Refused


def set_password(person: Person, password: str, *, field: str = "new_password") -> None:
    """Give ``person`` this password and end every session of theirs.

    Raises Refused for one that is easy to guess. Whether whoever asks may do it was found out
    before.
    """
    try:
        validate_password(password, person)
    except ValidationError as problem:
        raise Refused(" ".join(problem.messages), field) from None
    with transaction.atomic():
        person.set_password(password)
        person.save(update_fields=["password"])
        end_all(person)

"""Who may be signed in: Django's password check, and nobody who is stopped or erased."""

from django.contrib.auth.backends import ModelBackend
from django.contrib.auth.models import AnonymousUser

from lifecycle.models import Person
from lifecycle.records.people.sessions import may_sign_in


class PersonBackend(ModelBackend):
    """Checks a password; an address that nobody has costs the same hashing.

    It is asked on every request too, so that a session ends as soon as its person is stopped.
    """

    def user_can_authenticate(self, user: Person | AnonymousUser | None) -> bool:
        """Return whether this person may be signed in at all."""
        return isinstance(user, Person) and may_sign_in(user)

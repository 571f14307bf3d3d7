"""Who may be signed in, when they were last here, and how every session of theirs ends."""

from datetime import date, datetime, timedelta

from axes.models import AccessAttempt
from django.contrib.sessions.models import Session
from django.db.models import Q

from lifecycle.models import Letter, Person
from lifecycle.records.secrets import new_nonce

FAILURES_KEPT = timedelta(hours=1)
"""Failures to sign in count for a quarter of an hour."""


def may_sign_in(person: Person) -> bool:
    """Return whether a person may be signed in at all: not stopped, and not erased."""
    return person.is_active and person.erased_at is None


def who_signs_in(email: str) -> Person | None:
    """Return who signs in with ``email``; None where nobody has it, or may not."""
    person = Person.objects.filter(email=email.strip().lower()).first()
    return person if person is not None and may_sign_in(person) else None


def end_all(person: Person) -> None:
    """End every session of ``person`` on every device at once, and every link not yet used.

    A session carries a hash over the person's nonce, looked at on each request: a new nonce ends
    all of them without anybody looking for their rows, which hold the person in a form that no
    query can search. The rows go when they run out.
    """
    person.session_nonce = new_nonce()
    person.save(update_fields=["session_nonce"])
    end_links(person.email)


def end_links(email: str) -> None:
    """End every link to sign in that was mailed to ``email``, or waits to be, and was not used."""
    Letter.objects.filter(
        email=email.lower(), about=Letter.About.SIGN_IN, used_at__isnull=True
    ).update(state=Letter.State.CANCELLED)


def seen(person: Person, today: date) -> None:
    """Note that ``person`` was here on ``today``, a UTC date; never takes it back."""
    earlier = Q(last_seen_on__isnull=True) | Q(last_seen_on__lt=today)
    Person.objects.filter(earlier, pk=person.pk).update(last_seen_on=today)


def forget_failures(email: str) -> None:
    """Delete what is noted of failures to sign in with ``email``."""
    AccessAttempt.objects.filter(username=email.strip().lower()).delete()


def prune(*, now: datetime) -> None:
    """Delete sessions that ran out, and failures to sign in that no longer count."""
    Session.objects.filter(expire_date__lt=now).delete()
    AccessAttempt.objects.filter(attempt_time__lt=now - FAILURES_KEPT).delete()

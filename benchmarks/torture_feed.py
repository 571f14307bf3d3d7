"""Puts due reminders into the outbox all the time; started by torture.py as its own process.

Half of them may wake people, half wait for the morning. A number that is noted was committed;
after a failure the same number is put again, which the outbox makes one.
"""

import json
import os
import sys
import time
from datetime import timedelta
from pathlib import Path

PER_SECOND = 12.0
PEOPLE = 40
ZONE = "Europe/Paris"
KEPT = timedelta(days=2)


def found() -> None:
    """Make one garden with a site in ``ZONE`` and its people."""
    from django.utils import timezone

    from lifecycle.models import Membership, Person, Role
    from lifecycle.records.ground import gardens

    now = timezone.now()
    owner = gardens.found_garden(
        garden_name="Torture garden",
        person_name="Owner",
        email="owner@torture.example",
        password="a-long-torture-password",
        site_name="Ground",
        latitude=48.0,
        time_zone=ZONE,
        now=now,
    )
    for number in range(PEOPLE):
        person = Person.objects.create_user(
            f"member{number}@torture.example", None, name=f"Member {number}"
        )
        Membership.objects.create(
            garden=owner.garden, person=person, role=Role.MEMBER, joined_on=now.date()
        )


def feed() -> None:
    """Put one reminder after the other until killed; rests while the file "rest" exists."""
    from django.db import Error, connection

    from benchmarks.torture_app import folder, note
    from lifecycle.models import Garden, Person

    people = list(Person.objects.filter(name__startswith="Member").order_by("pk"))
    garden = Garden.objects.get()
    number = 0
    while True:
        if (folder() / "rest").exists():
            time.sleep(0.1)
            continue
        try:
            put_one(garden, people[number % len(people)], number)
        except Error:
            connection.close()
            time.sleep(0.5)
            continue
        note(put=number)
        number += 1
        time.sleep(1 / PER_SECOND)


def put_one(garden, person, number: int) -> None:
    """Put reminder ``number`` on the page and into the mail, in one transaction."""
    from django.db import transaction
    from django.utils import timezone

    from benchmarks.torture_app import ABOUT
    from lifecycle.models import Message
    from lifecycle.reminders.clock import next_open_hour
    from lifecycle.reminders.messages.outbox import put

    now = timezone.now()
    loud = number % 2 == 0
    not_before = now if loud else next_open_hour(now, ZONE)
    with transaction.atomic():
        put(
            garden,
            person,
            key=f"{ABOUT}:{number}",
            kind=Message.Kind.FROST if loud else Message.Kind.DUE,
            level=Message.Level.ACT_NOW if loud else Message.Level.DUE,
            about=ABOUT,
            data={"number": number},
            for_day=now.date(),
            not_before=not_before,
            expires_at=not_before + KEPT,
            now=now,
        )


def waiting() -> None:
    """Print how many messages are due, or in somebody's hands."""
    from django.db.models import Q
    from django.utils import timezone

    from lifecycle.models import Message

    now = timezone.now()
    due = Q(state="pending") & (Q(not_before__lte=now) | Q(claim__isnull=False))
    print(Message.objects.filter(due).count())


def states() -> None:
    """Print how every message stands, by its key."""
    from lifecycle.models import Message

    print(json.dumps(dict(Message.objects.values_list("key", "state"))))


if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).resolve().parent.parent))
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "benchmarks.torture_settings")
    import django

    django.setup()
    {"found": found, "feed": feed, "waiting": waiting, "states": states}[sys.argv[1]]()

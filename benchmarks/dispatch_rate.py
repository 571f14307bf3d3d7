"""Ten thousand due reminders to a local mail server, against the bare rate to the same server.

Run: .venv/bin/python benchmarks/dispatch_rate.py [NUMBER]
     .ci/services .venv/bin/python benchmarks/dispatch_rate.py    on PostgreSQL

The floor is smtplib alone with one connection: mails of the same sizes to the same sink, in the
same run. Prints one line of JSON.
"""

import json
import os
import smtplib
import sys
import time
from datetime import timedelta

import bench_garden
import mail_sink

NUMBER = 10_000
PARTS = 5
"""Floor and dispatch take turns, so that a busy moment falls on both."""


def main(number: int) -> None:
    """Send ``number`` reminders both ways in turns and print the rates."""
    with mail_sink.running() as port:
        bench_garden.start(
            database=os.environ.get("TEST_DATABASE_URL"), mail=f"smtp://{mail_sink.HOST}:{port}"
        )
        people(number)
        ours = bare = 0.0
        for part in range(PARTS):
            written = announce(part, number // PARTS)
            ours += dispatch(written)
            bare += by_hand(port)
        sent = number // PARTS * PARTS
    from django.db import connection

    answer = {
        "database": connection.vendor,
        "reminders": sent,
        "dispatched_per_second": round(sent / ours),
        "bare_per_second": round(sent / bare),
        "ratio": round(bare / ours, 2),
    }
    print(json.dumps(answer))


def people(number: int) -> None:
    """Give the bench garden as many members as one part has mails."""
    from lifecycle.models import Membership, Person, Role

    owner = bench_garden.found()
    made = Person.objects.bulk_create(
        [
            Person(email=f"member{n}@bench.example", name=f"Member {n}", password="!")
            for n in range(number // PARTS)
        ]
    )
    Membership.objects.bulk_create(
        [
            Membership(
                garden=owner.garden,
                person=person,
                role=Role.MEMBER,
                joined_on=bench_garden.NOW.date(),
            )
            for person in made
        ]
    )
    bench_garden.fill(owner, number // PARTS)


def announce(part: int, number: int) -> int:
    """Put one mail with one task into the outbox for each member; returns how many."""
    from lifecycle.models import Message, MessageItem, Person, Plant, Task

    now, today = bench_garden.NOW, bench_garden.NOW.date()
    members = list(Person.objects.filter(email__startswith="member").order_by("pk")[:number])
    plants = list(Plant.objects.select_related("garden").order_by("pk")[:number])
    tasks = Task.objects.bulk_create(
        [
            Task(
                garden=plant.garden,
                site_id=plant.site_id,
                plant=plant,
                kind="winter_water",
                growing_year=2026,
                number=part + 1,
                earliest=today,
                best=today,
                latest=today + timedelta(7),
                counts_from=today,
                reason="A resting plant needs little: every {2026-11-25} to {2026-12-09}.",
                source="common practice",
                made_at=now,
            )
            for plant in plants
        ]
    )
    messages = Message.objects.bulk_create(
        [
            Message(
                garden=plant.garden,
                person=person,
                channel=Message.Channel.EMAIL,
                key=f"bench:{part}:{person.pk}:email",
                for_day=today,
                not_before=now,
                expires_at=now + timedelta(3),
                made_at=now,
            )
            for person, plant in zip(members, plants, strict=True)
        ]
    )
    MessageItem.objects.bulk_create(
        [
            MessageItem(message=message, task=task, person=message.person, channel=message.channel)
            for message, task in zip(messages, tasks, strict=True)
        ]
    )
    return len(messages)


def dispatch(number: int) -> float:
    """Let the dispatcher send all that is due; returns its seconds."""
    from lifecycle.reminders.messages.dispatch import dispatch_all

    begun = time.perf_counter()
    sent = dispatch_all(now=bench_garden.NOW)
    took = time.perf_counter() - begun
    assert sent == number, f"{sent} of {number} went out"
    return took


def by_hand(port: int) -> float:
    """Send what was just sent once more, by smtplib alone; returns its seconds."""
    from django.core.mail import EmailMultiAlternatives

    from lifecycle.models import Message
    from lifecycle.reminders.messages.mail_head import head

    ready = []
    rows = Message.objects.filter(state="sent", channel="email").select_related("person", "garden")
    for row in rows:
        mail = EmailMultiAlternatives(
            row.subject, row.body, to=[row.person.email], headers=head(row)
        )
        mail.attach_alternative(row.html, "text/html")
        ready.append((mail.from_email, mail.to, mail.message().as_bytes(linesep="\r\n")))
    begun = time.perf_counter()
    with smtplib.SMTP(mail_sink.HOST, port) as server:
        for sender, to, data in ready:
            server.sendmail(sender, to, data)
    took = time.perf_counter() - begun
    # Each is sent by hand once: the next part has mails of its own.
    Message.objects.filter(pk__in=[row.pk for row in rows]).update(state="cancelled", sent_at=None)
    return took


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else NUMBER)

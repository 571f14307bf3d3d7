"""A message that somebody sends to themselves, to see whether messages arrive."""

from datetime import date, datetime, timedelta

from django.utils.translation import gettext as _

from lifecycle.models import Membership, Message
from lifecycle.reminders.messages.composing import Composed, Line, register
from lifecycle.reminders.messages.outbox import put
from lifecycle.reminders.work.task_words import garden_url

ABOUT = "test"
KEPT = timedelta(hours=1)


def send_test(actor: Membership, *, today: date, now: datetime) -> list[Message]:
    """Put a test message to ``actor`` into the outbox, by e-mail and on the page.

    Pressed twice within a minute it is one message.
    """
    return put(
        actor.garden,
        actor.person,
        key=f"{ABOUT}:{actor.garden_id}:{actor.person_id}:{now:%Y-%m-%dT%H:%M}",
        kind=Message.Kind.LEAD,
        level=Message.Level.NOTE,
        about=ABOUT,
        data={},
        for_day=today,
        not_before=now,
        expires_at=now + KEPT,
        now=now,
        channels=(Message.Channel.INBOX, Message.Channel.EMAIL),
    )


@register(ABOUT, asked_for=True)
def composed_test(message: Message, now: datetime) -> Composed:
    """Write the test message."""
    url = garden_url(message.garden, "system")
    subject = _("{garden}: a test message").format(garden=message.garden.name)
    return Composed(
        subject=subject,
        lines=(
            Line(_("You asked for this message, and it has arrived. Nothing is to be done.")),
            Line(_("How delivery stands"), url),
        ),
        short=subject,
        url=url,
    )

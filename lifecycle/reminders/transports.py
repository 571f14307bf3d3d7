"""How a message reaches a person. One function a channel, one kind of error."""

import hashlib
import smtplib
from urllib.parse import urlsplit

from django.conf import settings
from django.core.mail import EmailMessage

from lifecycle.models import Message


class TransportError(Exception):
    """A message did not go out; ``permanent`` when trying again is useless."""

    def __init__(self, sentence: str, *, permanent: bool) -> None:
        super().__init__(sentence)
        self.permanent = permanent


def deliver(message: Message) -> None:
    """Send ``message`` on its channel. Raises TransportError.

    A message on the page needs no sending: the stamp that follows makes it visible.
    """
    if message.channel == Message.Channel.EMAIL:
        _mail(message)


def message_id(message: Message) -> str:
    """Return the same Message-ID for the same message, so that a repeat can be recognised."""
    digest = hashlib.sha256(message.key.encode()).hexdigest()[:32]
    return f"<{digest}@{urlsplit(settings.SITE_URL).hostname}>"


def _mail(message: Message) -> None:
    mail = EmailMessage(
        subject=message.subject,
        body=message.body,
        to=[message.person.email],
        headers={"Message-ID": message_id(message), "Auto-Submitted": "auto-generated"},
    )
    try:
        mail.send()
    except smtplib.SMTPRecipientsRefused as problem:
        # 4xx is a server that wants to be asked again, as many do of a sender they do not know.
        permanent = all(code >= 500 for code, _ in problem.recipients.values())
        raise TransportError(
            f"The mail server refused the address: {problem}", permanent=permanent
        ) from problem
    except smtplib.SMTPResponseException as problem:
        # A wrong password is the operator's to mend, and no fault of this message.
        wrong_password = isinstance(problem, smtplib.SMTPAuthenticationError)
        permanent = problem.smtp_code >= 500 and not wrong_password
        raise TransportError(f"The mail server said: {problem}", permanent=permanent) from problem
    except OSError as problem:
        raise TransportError(
            f"The mail server did not answer: {problem}", permanent=False
        ) from problem

"""How a message reaches a person: one way a channel, one mail connection for many mails."""

import smtplib
from email.policy import Compat32
from types import TracebackType
from typing import Any, Self

from django.core.mail import EmailMultiAlternatives, get_connection

from lifecycle.models import Message
from lifecycle.reminders.messages import push
from lifecycle.reminders.messages.composing import Composed
from lifecycle.reminders.messages.mail_head import head
from lifecycle.reminders.messages.transports import Unreachable, of_mail

RENEW_AFTER = 100
"""Mails on one connection: many servers end one that goes on for long."""
LINE_LENGTH = 76
"""A longer line of a mail's head is folded."""


class _ShortLines(Compat32):
    """Writes a head line as it is where there is nothing to fold or encode: most of a head."""

    def fold_binary(self, name: str, value: Any) -> bytes:
        line = f"{name}: {value}"
        if len(line) > LINE_LENGTH or not (line.isascii() and line.isprintable()):
            return super().fold_binary(name, value)
        return f"{line}{self.linesep}".encode()


class _Mail(EmailMultiAlternatives):
    def message(self, **_: Any) -> Any:
        mime: Any = super().message()
        mime.policy = _ShortLines()
        return mime


class Carrier:
    """Carries the messages of one run."""

    def __init__(self) -> None:
        self._mail: Any = None
        self._carried = 0

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        problem: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def deliver(self, message: Message, composed: Composed) -> None:
        """Send ``message``, already written, on its channel. Raises TransportError.

        A message on the page needs no sending: the stamp that follows makes it visible.
        """
        if message.channel == Message.Channel.EMAIL:
            self.mail(
                message.person.email,
                subject=message.subject,
                body=message.body,
                html=message.html,
                headers=head(message),
            )
        elif message.channel == Message.Channel.PUSH:
            push.send(message, message.body, composed.url)

    def mail(
        self, address: str, *, subject: str, body: str, html: str, headers: dict[str, str]
    ) -> None:
        """Send one mail to one address. Raises TransportError."""
        connection = self._connection()
        try:
            mail = _Mail(
                subject=subject, body=body, to=[address], headers=headers, connection=connection
            )
            mail.attach_alternative(html, "text/html")
            mail.send()
        except (smtplib.SMTPException, OSError, ValueError) as problem:
            # What the server makes of the next command after a fault is anybody's guess.
            self.close()
            raise of_mail(problem) from problem
        self._carried += 1

    def close(self) -> None:
        """End the mail connection, if there is one."""
        mail, self._mail = self._mail, None
        if mail is not None:
            mail.close()

    def _connection(self) -> Any:
        if self._mail is not None and self._carried % RENEW_AFTER == 0:
            self.close()
        if self._mail is None:
            mail = get_connection()
            try:
                mail.open()
            except OSError as problem:
                raise Unreachable(f"The mail server cannot be reached: {problem}") from problem
            self._mail = mail
        return self._mail

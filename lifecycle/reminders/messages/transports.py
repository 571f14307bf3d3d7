"""What can go wrong on the way to a person: one kind of error, whatever the channel."""

import smtplib


class TransportError(Exception):
    """A message did not go out; ``permanent`` when trying again is useless."""

    def __init__(self, sentence: str, *, permanent: bool) -> None:
        super().__init__(sentence)
        self.permanent = permanent


class Unreachable(TransportError):
    """The way itself is closed for now, which is no fault of this message."""

    def __init__(self, sentence: str) -> None:
        super().__init__(sentence, permanent=False)


def of_mail(problem: Exception) -> TransportError:
    """Return what a fault of the mail server, or of a mail that cannot be made, means."""
    if isinstance(problem, smtplib.SMTPRecipientsRefused):
        # 4xx is a server that wants to be asked again, as many do of a sender they do not know.
        answers = problem.recipients.values()
        said = "; ".join(_said(code, text) for code, text in answers)
        return TransportError(
            f"The mail server refused the address: {said}",
            permanent=all(code >= 500 for code, _ in answers),
        )
    if isinstance(problem, smtplib.SMTPResponseException):
        # A wrong password is the operator's to mend, and no fault of this message.
        wrong_password = isinstance(problem, smtplib.SMTPAuthenticationError)
        return TransportError(
            f"The mail server said: {_said(problem.smtp_code, problem.smtp_error)}",
            permanent=problem.smtp_code >= 500 and not wrong_password,
        )
    if isinstance(problem, OSError):
        return TransportError(f"The mail server did not answer: {problem}", permanent=False)
    # An address or a header that no mail can bear; it will be no other tomorrow.
    return TransportError(f"This cannot be mailed: {problem}", permanent=True)


def _said(code: int, text: bytes | str) -> str:
    words = text.decode(errors="replace") if isinstance(text, bytes) else text
    return f"{code} {' '.join(words.split())}"

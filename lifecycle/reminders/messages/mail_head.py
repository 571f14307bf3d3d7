"""The head of an e-mail: what lets servers and programs thread it, file it and stop it.

RFC 5322 (Message-ID, References), RFC 2369 and RFC 8058 (unsubscribing with one click),
RFC 2919 (List-Id), RFC 3834 (Auto-Submitted).
"""

import hashlib
from urllib.parse import urlsplit

from django.conf import settings

from lifecycle.models import Message
from lifecycle.reminders.messages.mail_parts import stop_url

THREAD = "night"
"""Key of a message's data: all that one person gets about one frost night is a conversation."""


def message_id(message: Message) -> str:
    """Return the same Message-ID for the same message, so that a repeat can be recognised."""
    return id_of(message.key)


def head(message: Message) -> dict[str, str]:
    """Return the headers beside sender, recipient, subject and date."""
    headers = {
        "Message-ID": message_id(message),
        "Auto-Submitted": "auto-generated",
        "List-Id": f"<{message.garden.slug}.{_host()}>",
    }
    if stop := stop_url(message):
        headers["List-Unsubscribe"] = f"<{stop}>"
        # One click is defined for https alone.
        if settings.HTTPS:
            headers["List-Unsubscribe-Post"] = "List-Unsubscribe=One-Click"
    if (night := message.data.get(THREAD)) is not None:
        # The conversation begins with a name that no mail bears, so that none of its mails
        # needs to know which of them went first.
        first = id_of(f"{THREAD}:{night}:{message.person_id}")
        headers["References"] = headers["In-Reply-To"] = first
    return headers


def id_of(name: str) -> str:
    """Return a Message-ID that is always the same for the same name, and tells nothing of it."""
    return f"<{hashlib.sha256(name.encode()).hexdigest()[:32]}@{_host()}>"


def _host() -> str:
    return urlsplit(settings.SITE_URL).hostname or "localhost"

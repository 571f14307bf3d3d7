"""The text and the HTML of a message, both from the same lines, so that they say the same."""

import re
from collections.abc import Iterable

from django.conf import settings
from django.utils.html import escape
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from lifecycle.models import Message
from lifecycle.records.messages.unsubscribing import stop_path
from lifecycle.reminders.messages.composing import ASKED_FOR, SHORT_LENGTH, Composed, Line

SUBJECT_LENGTH = 200
HEADING = '<h2 style="font-size:1.1em">'
"""Of a part of a mail, which has no style sheet."""
_BREAKS = re.compile(r"[\x00-\x1f\x7f-\x9f\u2028\u2029]+")


def subject_line(composed: Composed) -> str:
    """Return the subject as one line of at most ``SUBJECT_LENGTH`` characters.

    Names may hold line breaks; in a mail's head each would begin a header of its own.
    """
    return _BREAKS.sub(" ", composed.subject).strip()[:SUBJECT_LENGTH].rstrip()


def write(message: Message, composed: Composed) -> None:
    """Put the words into ``message`` as they are sent on its channel, and kept."""
    message.subject = subject_line(composed)
    message.html = ""
    if message.channel == Message.Channel.EMAIL:
        lines = (*composed.lines, *foot(message))
        message.body, message.html = as_text(lines), as_document(message.subject, lines)
    elif message.channel == Message.Channel.PUSH:
        message.body = short_text(composed)
    else:
        message.body, message.html = as_text(composed.lines), as_fragment(composed.lines)


def short_text(composed: Composed) -> str:
    """Return the short form as one line that a push message can hold."""
    text = _BREAKS.sub(" ", composed.short).strip()
    return text if len(text) <= SHORT_LENGTH else f"{text[: SHORT_LENGTH - 1].rstrip()}…"


def stop_url(message: Message) -> str:
    """Return where this kind of e-mail is stopped; empty where there is nothing to stop."""
    if message.channel != Message.Channel.EMAIL or message.about in ASKED_FOR:
        return ""
    return f"{settings.SITE_URL}{stop_path(message.person_id, message.kind)}"


def foot(message: Message) -> tuple[Line, ...]:
    """Return the last lines of an e-mail: why it came, and where to change that."""
    label = Message.Kind(message.kind).label
    lines = [
        Line(_("Why you get this"), heading=True),
        Line(
            _("You belong to {garden}, and you get: {kind}.").format(
                garden=message.garden.name, kind=f"{label[0].lower()}{label[1:]}"
            )
        ),
        Line(_("Choose what you get"), f"{settings.SITE_URL}/settings"),
    ]
    if stop := stop_url(message):
        lines.append(Line(_("Stop e-mails of this kind"), stop))
    if message.garden.invented:
        lines.append(Line(_("This is an invented demonstration garden.")))
    return tuple(lines)


def as_text(lines: Iterable[Line]) -> str:
    """Return the lines as plain text: a blank line before each part, addresses written out."""
    written: list[str] = []
    for line in lines:
        if line.heading and written:
            written.append("")
        text = _BREAKS.sub(" ", line.text).strip()
        written.append(f"{text}: {line.url}" if line.url and text else line.url or text)
    return "\n".join(written) + "\n"


def as_fragment(lines: Iterable[Line], heading: str = "<h2>") -> str:
    """Return the lines as HTML without a document round them; everything is escaped."""
    return "\n".join(_element(line, heading) for line in lines)


def as_document(subject: str, lines: Iterable[Line]) -> str:
    """Return the lines as a whole HTML page: no pictures, nothing fetched, nothing tracked."""
    return f"""<!doctype html>
<html lang="{get_language() or settings.LANGUAGE_CODE}">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{escape(subject)}</title>
</head>
<body style="margin:1em;max-width:36em;font:16px/1.5 sans-serif">
<h1 style="font-size:1.25em">{escape(subject)}</h1>
{as_fragment(lines, HEADING)}
</body>
</html>
"""


def _element(line: Line, heading: str) -> str:
    text = escape(_BREAKS.sub(" ", line.text).strip())
    if line.url:
        return f'<p><a href="{escape(line.url)}">{text or escape(line.url)}</a></p>'
    # The subject is the only heading above it, in a mail as on the page.
    return f"{heading}{text}</h2>" if line.heading else f"<p>{text}</p>"

"""What a person has chosen to get, in one sentence a channel."""

from collections.abc import Mapping

from django.utils.translation import gettext as _

from lifecycle.models import Message
from lifecycle.web.forms.preferences import DAYS

Wanted = Mapping[str, Mapping[str, bool]]
"""By kind, by channel: whether it is wanted."""


def summary(wanted: Wanted, *, day: int, hour: int, devices: bool, leads: bool) -> str:
    """Return what comes by e-mail, what by push message, and what may come at night.

    ``devices``: a device shows push messages; without one none can come. ``leads``: the person
    gets what is for coordinators.
    """
    email = _by(Message.Channel.EMAIL, wanted, day, hour, leads)
    push = _by(Message.Channel.PUSH, wanted, day, hour, leads) if devices else {}
    sentences = [
        _("By e-mail you get {items}.").format(items=_series(email))
        if email
        else _("You get no e-mail."),
        _("By push message you get {items}.").format(items=_series(push))
        if push
        else _("You get no push messages."),
    ]
    if Message.Kind.FROST in (*email, *push):
        sentences.append(_("Nothing at night, except when you are on call and asked to be woken."))
    else:
        sentences.append(_("Nothing at night."))
    return " ".join(sentences)


def _by(channel: str, wanted: Wanted, day: int, hour: int, leads: bool) -> dict[str, str]:
    """Return what is wanted on a channel, in words by kind."""
    words = {
        Message.Kind.WEEK: _("the week ahead on {weekday} at {clock}").format(
            weekday=DAYS[day], clock=f"{hour:02}:00"
        ),
        Message.Kind.DUE: _("one message in the morning when something is due"),
        Message.Kind.HANDED: _("work that is handed or offered to you"),
        Message.Kind.LEAD: _("notices of gaps and failures"),
        Message.Kind.FROST: _("frost messages at any time before 21:00"),
    }
    return {
        kind: text
        for kind, text in words.items()
        if wanted[kind][channel] and (leads or kind != Message.Kind.LEAD)
    }


def _series(items: Mapping[str, str]) -> str:
    """Return items as a series: "a", "a and b", "a, b, and c"."""
    listed = list(items.values())
    if len(listed) < 3:
        return _(" and ").join(listed)
    return _("{items}, and {last}").format(items=", ".join(listed[:-1]), last=listed[-1])

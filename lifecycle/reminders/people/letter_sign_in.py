"""The words of a mailed link to sign in; whether anybody has the address is found out here."""

from datetime import datetime

from django.conf import settings
from django.utils.translation import gettext as _

from lifecycle.models import Letter
from lifecycle.records.people.letters import LINK_LASTS, link_path
from lifecycle.records.people.sessions import who_signs_in
from lifecycle.reminders.messages.composing import Composed, Line


def compose(letter: Letter, now: datetime) -> Composed | None:
    """Write the letter; None where nobody signs in with the address."""
    person = who_signs_in(letter.email)
    if person is None:
        return None
    subject = _("Your link to sign in")
    minutes = int(LINK_LASTS.total_seconds() // 60)
    return Composed(
        subject=subject,
        lines=(
            Line(_("{name}, this link signs you in.").format(name=person.name)),
            Line(_("Sign in"), f"{settings.SITE_URL}{link_path(letter)}"),
            Line(
                _("It works once, within {minutes} minutes of being asked for.").format(
                    minutes=minutes
                )
            ),
            Line(_("You did not ask for it?"), heading=True),
            Line(
                _(
                    "Then do nothing: without this link nobody gets in, and it ends by itself. "
                    "Pass it on to nobody."
                )
            ),
        ),
        short=subject,
    )

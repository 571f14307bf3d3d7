"""The words of an invitation: which garden, who invites, the link, and until when it works."""

from datetime import datetime

from django.conf import settings
from django.utils.translation import gettext as _

from lifecycle.care.wording import short_date
from lifecycle.models import Invitation, Letter, Role
from lifecycle.records.people.invitation_letters import BY_NAME
from lifecycle.records.people.invitation_standing import Standing, standing_for_reader
from lifecycle.records.people.invitations import link_path
from lifecycle.records.people.join_link import invitation_asked_for
from lifecycle.records.people.memberships import local_day
from lifecycle.reminders.messages.composing import Composed, Line

ROLES: dict[str, str] = {
    Role.MEMBER: "a member",
    Role.COORDINATOR: "a coordinator",
    Role.COMMITTEE: "a member of its committee",
    Role.OWNER: "an owner",
}
"""As what somebody is invited."""


def compose(letter: Letter, now: datetime) -> Composed | None:
    """Write an invitation's letter; None once it is used, taken back, over or sent anew.

    One that was asked for with the garden's link is made here, where nobody waits for an answer.
    """
    invitation = invitation_asked_for(letter, now=now)
    if invitation is None or standing_for_reader(invitation, now) != Standing.WAITING:
        return None
    if letter.made_at < invitation.sent_at:
        return None
    garden = invitation.garden.name
    url = f"{settings.SITE_URL}{link_path(invitation)}"
    subject = _("{garden}: an invitation to join").format(garden=garden)
    return Composed(
        subject=subject,
        lines=(
            Line(_greeting(letter, invitation)),
            Line(_why(invitation)),
            Line(_("Join {garden}").format(garden=garden), url),
            Line(_until(invitation, now)),
            Line(_("If this is not for you"), heading=True),
            Line(
                _(
                    "Then do nothing. Without you nothing happens, and nobody is told that you "
                    "read it."
                )
            ),
            *(
                [Line(_("This is an invented demonstration garden."))]
                if invitation.garden.invented
                else []
            ),
        ),
        short=subject,
        url=url,
    )


def _greeting(letter: Letter, invitation: Invitation) -> str:
    if letter.data.get(BY_NAME) and invitation.name:
        return _("Hello {name},").format(name=invitation.name)
    return _("Hello,")


def _why(invitation: Invitation) -> str:
    given = {
        "garden": invitation.garden.name,
        "role": ROLES[invitation.role],
        "who": invitation.made_by,
        "bed": invitation.place,
    }
    if invitation.made_by is None:
        return _(
            "Somebody gave this address on the page of {garden} to join it. Open the link to "
            "become {role}."
        ).format(**given)
    if invitation.place is not None:
        return _("{who} invites you to join {garden} as {role}, and to hold {bed}.").format(**given)
    return _("{who} invites you to join {garden} as {role}.").format(**given)


def _until(invitation: Invitation, now: datetime) -> str:
    garden = invitation.garden_id
    last, today = local_day(garden, invitation.expires_at), local_day(garden, now)
    return _(
        "The link works once, until {day}. A newer letter ends it. It is yours alone: do not pass "
        "it on."
    ).format(day=short_date(last, today))

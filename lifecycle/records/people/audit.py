"""Who changed or looked at what only a few may: roles, settings, exports."""

from datetime import UTC, datetime
from typing import Any

from django.db import transaction

from lifecycle.models import AuditNote, Membership, Person

ACTS: dict[str, str] = {
    "roles_seen": "Looked at members’ roles and contacts",
    "role_changed": "Changed a role",
    "invited": "Invited somebody",
    "invitation_revoked": "Revoked an invitation",
    "joined": "Joined",
    "removed": "Took somebody out of the garden",
    "left": "Left the garden",
    "came_back": "Came back",
    "erased": "A former member’s name was taken out",
    "settings_changed": "Changed the garden’s settings",
    "rules_changed": "Changed bed rules",
    "join_link_made": "Made a new join link",
    "join_link_ended": "Ended the join link",
    "exported": "Downloaded their own data",
    "report_seen": "Downloaded tables of the report",
    "year_closed": "Closed a year’s figures",
    "audit_seen": "Looked at this list",
}
"""By key, what was done, as the page says it."""


def note(
    actor: Membership,
    act: str,
    *,
    now: datetime,
    about: Person | None = None,
    **detail: Any,
) -> AuditNote:
    """Write down an act of ``actor`` in their garden. ``detail`` holds codes and numbers only.

    Raises KeyError for an act that ACTS does not name.
    """
    assert ACTS[act]
    return AuditNote.objects.create(
        garden_id=actor.garden_id,
        at=now,
        by_id=actor.person_id,
        about=about,
        act=act,
        detail=detail,
    )


def note_once_a_day(
    actor: Membership, act: str, *, now: datetime, about: Person | None = None
) -> bool:
    """Write down an act of looking, unless the actor did the same today (UTC); whether written.

    Raises KeyError for an act that ACTS does not name.
    """
    midnight = now.astimezone(UTC).replace(hour=0, minute=0, second=0, microsecond=0)
    before = AuditNote.objects.filter(
        garden=actor.garden_id, by=actor.person_id, about=about, act=act, at__gte=midnight
    )
    if before.exists():
        return False
    with transaction.atomic():
        # Two of the actor's pages at the same moment make one note.
        list(Membership.objects.select_for_update(no_key=True).filter(pk=actor.pk))
        if before.exists():
            return False
        note(actor, act, now=now, about=about)
    return True

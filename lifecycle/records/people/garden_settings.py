"""What an owner sets for the whole garden."""

from datetime import datetime
from typing import Any

from django.db import transaction

from lifecycle.models import Garden, Joining, Membership
from lifecycle.permissions import require
from lifecycle.records.crops.beginnings import plain_name
from lifecycle.records.people import audit
from lifecycle.records.people.join_link import end_asked_for, held_garden
from lifecycle.records.refusal import Refused
from lifecycle.records.secrets import new_nonce

TEXT_LENGTH = 6000


def change_garden(
    actor: Membership,
    *,
    name: str,
    joining: str,
    waiver: str,
    safety: str,
    hours_ledger: bool,
    now: datetime,
) -> list[str]:
    """Set the garden's name, how people join, its waiver and safety notice, and the hours ledger.

    Its address stays what it is. Returns the keys that changed; the audit holds only these.
    A changed safety notice is to be read again by everybody. Raises Refused.
    """
    require(actor, "garden.edit")
    if joining not in Joining.values:
        raise Refused("Choose how people join.", "joining")
    given: dict[str, Any] = {
        "name": plain_name(name, "garden"),
        "joining": joining,
        "waiver": _text(waiver, "waiver"),
        "safety": _text(safety, "safety"),
        "hours_ledger": hours_ledger,
    }
    with transaction.atomic():
        garden = held_garden(actor)
        changed = [key for key, value in given.items() if getattr(garden, key) != value]
        if not changed:
            return []
        for key in changed:
            setattr(garden, key, given[key])
        garden.save(update_fields=changed)
        if "joining" in changed:
            _follow_joining(garden, now)
        if "safety" in changed:
            Membership.objects.filter(garden=garden, left_on__isnull=True).update(
                safety_read_at=None
            )
        audit.note(actor, "settings_changed", now=now, changed=changed)
    return changed


def _follow_joining(garden: Garden, now: datetime) -> None:
    """Make a link where people may come by one, and end it where they may not."""
    if garden.joining != Joining.OPEN:
        end_asked_for(garden, now)
    if garden.joining == Joining.INVITED:
        garden.join_nonce = None
    elif garden.join_nonce is None:
        garden.join_nonce = new_nonce()
    garden.save(update_fields=["join_nonce"])


def _text(text: str, field: str) -> str:
    """Return a text of several lines without stray space around it. Raises Refused."""
    clean = "\n".join(line.rstrip() for line in text.replace("\x00", "").splitlines()).strip()
    if len(clean) > TEXT_LENGTH:
        raise Refused(f"The text has {len(clean)} characters; keep it to {TEXT_LENGTH}.", field)
    return clean

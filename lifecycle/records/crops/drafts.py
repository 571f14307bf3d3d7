"""Entries not yet written, and the checks that each must pass."""

import math
from dataclasses import dataclass, field
from datetime import date
from uuid import UUID, uuid4

from lifecycle.life.kinds import Kind, KindRule, rule_for
from lifecycle.life.phases import Phase
from lifecycle.models import Membership, Person, Place, Plant, Variety
from lifecycle.records.refusal import Refused

EARLIEST = date(1950, 1, 1)
NOTE_LENGTH = 500
MATERIAL_LENGTH = 24


@dataclass(slots=True)
class Draft:
    """What a person wants to have recorded."""

    kind: Kind
    happened_on: date
    uuid: UUID = field(default_factory=uuid4)
    quantity: float | None = None
    choice: str = ""
    place: Place | None = None
    holder: Person | None = None
    variety: Variety | None = None
    other: Plant | None = None
    material: str = ""
    note: str = ""


def check_draft(draft: Draft, subject: str, garden_id: int, today: date) -> KindRule:
    """Check a draft against its kind, apart from what came before.

    ``subject`` is "sowing" or "plant"; ``today`` the site's own date. Returns the rule of
    the kind. Raises Refused with the field that is wrong.
    """
    try:
        rule = rule_for(draft.kind, subject)
    except KeyError:
        raise Refused(f"“{draft.kind}” does not belong in the record of a {subject}.") from None
    _check_day(draft, today)
    _check_quantity(draft, rule)
    if rule.choices and draft.choice not in rule.choices:
        wanted = ", ".join(rule.choices.values())
        raise Refused(f"{rule.choice_label}: choose one of {wanted}.", "choice")
    if draft.choice and not rule.choices:
        raise Refused(f"“{rule.label}” takes no choice.", "choice")
    _check_place(draft, rule, garden_id)
    _check_identity(draft, rule, garden_id)
    if len(draft.material) > MATERIAL_LENGTH or "\x00" in draft.material:
        raise Refused("Choose the material from the list.", "material")
    if "\x00" in draft.note:
        raise Refused("The note holds a character that cannot be kept. Type it again.", "note")
    if len(draft.note) > NOTE_LENGTH:
        raise Refused(
            f"The note has {len(draft.note)} characters; keep it to {NOTE_LENGTH}.", "note"
        )
    return rule


def check_holder(person: Person, garden_id: int) -> None:
    """Raise Refused unless ``person`` is a member of the garden today."""
    if not Membership.objects.filter(
        garden_id=garden_id, person=person, left_on__isnull=True
    ).exists():
        raise Refused(f"{person} is not a member of this garden. Choose a member.", "holder")


def _check_day(draft: Draft, today: date) -> None:
    if draft.happened_on > today:
        raise Refused(
            f"{draft.happened_on:%-d %B %Y} is in the future at this site, where it is "
            f"{today:%-d %B %Y}. Give today or an earlier date.",
            "happened_on",
        )
    if draft.happened_on < EARLIEST:
        raise Refused(
            f"{draft.happened_on:%-d %B %Y} is too long ago. Give a date after 1950.",
            "happened_on",
        )


def _check_quantity(draft: Draft, rule: KindRule) -> None:
    wanted = rule.quantity
    if draft.quantity is None:
        if wanted is not None and wanted.required:
            raise Refused(f"{wanted.label}: give a number.", "quantity")
        return
    if wanted is None:
        raise Refused(f"“{rule.label}” takes no number.", "quantity")
    value = draft.quantity
    if not math.isfinite(value) or not wanted.low <= value <= wanted.high:
        raise Refused(
            f"{wanted.label}: {value:g} is out of range. "
            f"Give {wanted.low:g} to {wanted.high:g} {wanted.unit}.",
            "quantity",
        )
    if wanted.whole and value != int(value):
        raise Refused(f"{wanted.label}: give a whole number, not {value:g}.", "quantity")


def _check_identity(draft: Draft, rule: KindRule, garden_id: int) -> None:
    if draft.variety is not None:
        if draft.kind is not Kind.SETTLED:
            raise Refused(f"“{rule.label}” takes no variety.", "variety")
        if draft.variety.garden_id != garden_id:
            raise Refused("Choose a variety of this garden.", "variety")
    if draft.other is not None:
        if draft.kind not in (Kind.IN_DOUBT, Kind.SETTLED):
            raise Refused(f"“{rule.label}” takes no other plant.", "other")
        if draft.other.garden_id != garden_id:
            raise Refused("Choose a plant of this garden.", "other")
    swapped = draft.kind is Kind.IN_DOUBT and draft.choice == "swapped"
    if swapped is not (draft.other is not None) and draft.kind is Kind.IN_DOUBT:
        raise Refused("Name the other plant when two may have swapped, and only then.", "other")


def _check_place(draft: Draft, rule: KindRule, garden_id: int) -> None:
    if draft.place is None:
        if rule.needs_place or draft.kind is Kind.INHERITED:
            raise Refused(f"“{rule.label}” needs a place. Choose where it went.", "place")
        return
    if draft.place.garden_id != garden_id:
        raise Refused(
            "That place does not belong to this garden. Choose one of its places.", "place"
        )
    if not rule.needs_place and not rule.begins:
        raise Refused(f"“{rule.label}” takes no place.", "place")
    outside = draft.choice in (Phase.ESTABLISHING, Phase.HARDENING)
    if draft.kind is Kind.INHERITED and outside and draft.place.sheltered:
        raise Refused(
            f"{draft.place} is under cover; a plant being hardened or established is not.", "place"
        )
    if draft.kind is Kind.PLANTED_OUT and draft.place.sheltered:
        raise Refused(
            f"{draft.place} is under cover. Choose a bed or a bench in the open, or log “Moved”.",
            "place",
        )
    if draft.kind is Kind.WINTER_QUARTERS and not draft.place.sheltered:
        raise Refused(
            f"{draft.place} is in the open. Choose winter quarters under a roof.", "place"
        )

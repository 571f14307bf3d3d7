"""How a record begins: its row and its first entries, written together."""

import unicodedata
from collections.abc import Sequence
from datetime import datetime
from typing import Any
from uuid import UUID, uuid5

from lifecycle.life.kinds import Kind
from lifecycle.models import Entry, Garden, Membership, Plant, Site, Sowing, Variety
from lifecycle.models.plants import Projection
from lifecycle.records.crops import ledger
from lifecycle.records.crops.codes import new_codes
from lifecycle.records.crops.drafts import Draft, check_draft, check_holder
from lifecycle.records.crops.entries import site_of
from lifecycle.records.refusal import Refused

NAME_LENGTH = 60
_BLANK_LETTERS = frozenset("\u115f\u1160\u3164\uffa0")
"""Letters by their class, of which nothing is seen."""


def begin(
    record: Projection,
    drafts: Sequence[Draft],
    *,
    actor: Membership,
    now: datetime,
) -> Projection:
    """Insert a new record with the drafts that open it, inside the caller's transaction.

    Raises Refused when a draft is out of bounds or cannot follow the one before.
    """
    subject = ledger.subject_of(record)
    today = record.site.local_day(now)
    for draft in drafts:
        check_draft(draft, subject, record.garden_id, today)
        if draft.holder is not None:
            check_holder(draft.holder, record.garden_id)
    facts = [ledger.as_fact(draft, now, index) for index, draft in enumerate(drafts)]
    life = ledger.fold_or_refuse(subject, facts, "This beginning")
    site_id = site_of(life.place, record.site_id)
    for name, value in ledger.projection_of(record, life, facts, site_id).items():
        setattr(record, name, value)
    record.save(force_insert=True)
    ledger.write_entries(record, drafts, by=actor.person, now=now)
    return record


def begun_before(uuid: UUID, garden_id: int) -> Entry | None:
    """Return the entry that this form already wrote, if it was sent before.

    Call it inside the transaction that begins the record: it holds the garden's row, so
    that the same form sent twice at once is seen by the second.
    """
    list(Garden.objects.select_for_update(no_key=True).filter(pk=garden_id).values_list("pk"))
    before = Entry.objects.filter(uuid=uuid).select_related("plant", "sowing").first()
    if before is not None and before.garden_id != garden_id:
        raise Refused(USED)
    return before


USED = "This form was already used for another act. Load the page again."


def part_of(uuid: UUID, name: str) -> UUID:
    """Return the id of one entry of an act that writes several."""
    return uuid5(uuid, name)


def numbered_names(variety: Variety, number: int) -> list[str]:
    """Return the next ``number`` names of plants of a variety, such as "Cayenne 7"."""
    taken = set(Plant.objects.filter(variety=variety).values_list("name", flat=True))
    names: list[str] = []
    n = len(taken)
    while len(names) < number:
        n += 1
        name = f"{variety.name[:50]} {n}"
        if name not in taken:
            names.append(name)
    return names


def plain_name(name: str, what: str, field: str = "name") -> str:
    """Return ``name`` without stray spaces and without what nobody sees.

    Raises Refused when it is empty or too long, or holds neither a letter nor a digit.
    """
    clean = " ".join("".join(_seen(sign) for sign in name).split())
    if not clean:
        raise Refused(f"Give the {what} a name.", field)
    if not any(sign.isalnum() for sign in clean):
        raise Refused(f"Give the {what} a name with a letter or a digit in it.", field)
    if len(clean) > NAME_LENGTH:
        raise Refused(
            f"The name of the {what} has {len(clean)} characters; keep it to {NAME_LENGTH}.", field
        )
    return clean


def _seen(sign: str) -> str:
    """Return a character as it may stand in a name.

    Signs that join, turn round or hide other signs make two names look alike that are not.
    """
    if sign in _BLANK_LETTERS:
        return ""
    match unicodedata.category(sign):
        case "Cc":
            return " "
        case "Cf":
            return ""
    return sign


def begin_plants(
    actor: Membership,
    *,
    kind: Kind,
    site: Site,
    variety: Variety,
    counts: Sequence[int],
    draft: Draft,
    now: datetime,
    **lineage: Any,
) -> list[Plant]:
    """Begin one plant for each of ``counts``, all opened by a copy of ``draft``."""
    codes = new_codes(len(counts))
    names = numbered_names(variety, len(counts))
    plants = []
    for index, (count, code, name) in enumerate(zip(counts, codes, names, strict=True)):
        plant = Plant(
            garden_id=actor.garden_id, site=site, code=code, name=name, variety=variety, **lineage
        )
        opening = Draft(
            kind,
            draft.happened_on,
            part_of(draft.uuid, f"{kind}-{index}"),
            quantity=count,
            place=draft.place,
            holder=draft.holder,
            choice=draft.choice,
        )
        begin(plant, [opening], actor=actor, now=now)
        plants.append(plant)
    return plants


def sowing_row(actor: Membership, site: Site, variety: Variety, **more: Any) -> Sowing:
    """Return a sowing not yet saved, with a code of its own."""
    [code] = new_codes(1)
    return Sowing(garden_id=actor.garden_id, site=site, code=code, variety=variety, **more)

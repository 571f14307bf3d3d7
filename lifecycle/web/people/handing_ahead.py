"""What a hand-over would pass on and from whom, and what waits in another one already."""

from collections.abc import Sequence

from django.db.models import Q

from lifecycle.models import HandOver, Membership, Person, Plant, Sowing
from lifecycle.records.people.handing_load import Load
from lifecycle.web.door import rows
from lifecycle.web.words import counted

OPEN = (HandOver.State.PROPOSED, HandOver.State.ACCEPTED)


def waiting_hand_over(member: Membership, load: Load) -> HandOver | None:
    """Return a hand-over, not settled yet, of any part of a load. One query."""
    parts = Q(items__plant__in=load.plants) | Q(items__sowing__in=load.sowings)
    if load.place is not None:
        parts |= Q(items__place=load.place)
    waits = rows(HandOver, member).filter(parts, items__waits=True, state__in=OPEN)
    return waits.select_related("to").order_by("pk").first()


def lead_words(load: Load, giver: Person | None, member: Membership) -> str:
    """Return what would pass on, and from whom: what is theirs, and what nobody looks after."""
    if load.empty:
        return "There is nothing here that you could hand over."
    own = giver is not None and giver.pk == member.person_id
    if load.place is None and len(load.records) == 1:
        if own:
            return "You look after it now."
        return "Nobody looks after it now." if giver is None else f"Looked after by {giver} now."
    theirs = [each for each in load.records if giver is not None and each.holder_id == giver.pk]
    free = [each for each in load.records if each not in theirs]
    parts = ["the plot itself"] if load.place else []
    if theirs:
        parts.append(f"{_counts(theirs)} that {'you look' if own else f'{giver} looks'} after")
    if free:
        parts.append(f"{_counts(free)} that nobody looks after")
    return f"This hands over {_listed(parts)}."


def _counts(records: Sequence[Plant | Sowing]) -> str:
    plants = sum(isinstance(each, Plant) for each in records)
    sowings = len(records) - plants
    said = [counted(plants, "plant")] if plants else []
    return _listed([*said, *([counted(sowings, "sowing")] if sowings else [])])


def _listed(parts: Sequence[str]) -> str:
    *first, last = parts
    return f"{', '.join(first)} and {last}" if first else last

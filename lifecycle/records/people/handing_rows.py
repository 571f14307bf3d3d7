"""What every verb of hand-overs stands on: the row held, its day, an end without effect."""

from datetime import date, datetime

from django.db.models import QuerySet

from lifecycle.models import HandOver, Membership, Site
from lifecycle.records.people.handing_load import Load
from lifecycle.records.refusal import Refused

NOTE_LENGTH, WHY_LENGTH = 300, 200


def close(held: HandOver, state: str, why: str, *, now: datetime) -> HandOver:
    """End a locked hand-over without effect, inside the caller's transaction."""
    held.state, held.why = state, why[:WHY_LENGTH]
    held.answered_at = held.answered_at or now
    held.save(update_fields=["state", "why", "answered_at"])
    held.items.update(waits=False)
    return held


def day_at(hand_over: HandOver, now: datetime) -> date:
    """Return the date at the site of what is handed over."""
    item = hand_over.items.select_related("plant__site", "sowing__site", "place__site").first()
    thing = None if item is None else item.plant or item.sowing or item.place
    return now.date() if thing is None else thing.site.local_day(now)


def site_of_load(load: Load) -> Site:
    """Return the site whose calendar a load follows. Raises Refused for an empty one."""
    for thing in (*load.records, load.place):
        if thing is not None:
            return thing.site
    raise Refused("There is nothing here to hand over.")


def rows_with_people() -> QuerySet[HandOver]:
    """Return all hand-overs with their people and gardens."""
    return HandOver.objects.select_related("garden", "by", "giver", "to")


def held_row(actor: Membership, hand_over: HandOver) -> HandOver:
    """Return a hand-over of the actor's garden read afresh under a lock. Raises Refused."""
    found = rows_with_people().select_for_update(of=("self",)).filter(pk=hand_over.pk).first()
    if found is None or found.garden_id != actor.garden_id:
        raise Refused("That hand-over does not belong to this garden.")
    return found


def plain_words(text: str, length: int, field: str, what: str) -> str:
    """Return words without stray space. Raises Refused for too many, naming ``what``."""
    clean = " ".join(text.replace("\x00", " ").split())
    if len(clean) > length:
        raise Refused(f"The {what} has {len(clean)} characters; keep it to {length}.", field)
    return clean

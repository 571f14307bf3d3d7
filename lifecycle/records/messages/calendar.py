"""A person's calendar address, and what its feed has shown under each event's identity."""

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any
from uuid import uuid4

from django.db import transaction

from lifecycle.models import CalendarAddress, CalendarItem, Person
from lifecycle.records.secrets import code_for, is_code, new_nonce

PURPOSE = "calendar"
KEPT_DAYS = 60
"""How long a cancelled event, and one that is over, stays in the feed."""

BATCH = 500
_NOBODY = new_nonce()


@dataclass(frozen=True, slots=True)
class Event:
    """What a calendar is to show; ``parts`` names what it is made of ("task:12").

    ``starts`` and ``ends`` (exclusive) are ISO dates, or wall times in ``zone``.
    """

    garden_id: int
    parts: tuple[str, ...]
    starts: str
    ends: str
    summary: str
    description: str
    location: str
    categories: tuple[str, ...]
    url: str
    zone: str = ""

    @property
    def last_day(self) -> date:
        """The day on which it ends, or the day after an all-day event."""
        return date.fromisoformat(self.ends[:10])

    @property
    def content(self) -> dict[str, Any]:
        """What is written, as it is kept."""
        return {
            "starts": self.starts,
            "ends": self.ends,
            "zone": self.zone,
            "summary": self.summary,
            "description": self.description,
            "location": self.location,
            "categories": list(self.categories),
            "url": self.url,
        }


Plan = Callable[[Sequence[CalendarItem]], Sequence[Event]]


def new_address(person: Person, *, now: datetime) -> CalendarAddress:
    """Give the person a calendar address; the one before stops working."""
    made, _ = CalendarAddress.objects.update_or_create(
        person=person, defaults={"nonce": new_nonce(), "made_at": now, "read_at": None}
    )
    return made


def end_address(person: Person) -> None:
    """Stop the person's calendar: its address ends, and what it showed is forgotten."""
    with transaction.atomic():
        CalendarAddress.objects.filter(person=person).delete()
        CalendarItem.objects.filter(person=person).delete()


def code_of(address: CalendarAddress) -> str:
    """Return the secret part of the address."""
    return code_for(PURPOSE, address.pk, address.nonce)


def address_by_code(pk: int, code: str) -> CalendarAddress | None:
    """Return the calendar address with this code, of a person who may sign in."""
    found = (
        CalendarAddress.objects.filter(pk=pk, person__is_active=True)
        .select_related("person")
        .first()
    )
    # An unknown number takes as long as a wrong code.
    right = is_code(code, PURPOSE, pk, found.nonce if found is not None else _NOBODY)
    return found if right else None


def publish(address: CalendarAddress, plan: Plan, *, now: datetime) -> list[CalendarItem]:
    """Bring what the feed shows up to date, and return it in order.

    ``plan`` is given what was shown before, of gardens the person belongs to today. An event
    keeps its identity while most of what it is made of stays together; its sequence rises
    with every change. One that is planned no more stays as cancelled for KEPT_DAYS.
    Raises CalendarAddress.DoesNotExist when the address ended meanwhile.
    """
    person, cutoff = address.person, now - timedelta(KEPT_DAYS)
    with transaction.atomic():
        # Two clients that read at once must not both count the same change.
        held = CalendarAddress.objects.select_for_update().get(pk=address.pk, nonce=address.nonce)
        held.read_at = now
        held.save(update_fields=["read_at"])
        known = list(CalendarItem.objects.visible_to(person).filter(person=person))
        shown, new, changed = [], [], []
        for event, item in _matched(plan(known), known):
            if item is None:
                item = _begun(person, event, now)
                new.append(item)
            elif _follow(item, event, now):
                changed.append(item)
            shown.append(item)
        matched = {item.uid for item in shown}
        for item in known:
            if item.uid in matched or _is_over(item, cutoff):
                continue
            if item.gone_at is None:
                item.gone_at = item.changed_at = now
                item.sequence += 1
                changed.append(item)
            shown.append(item)
        CalendarItem.objects.bulk_create(new, batch_size=BATCH)
        CalendarItem.objects.bulk_update(changed, _FOLLOWS, batch_size=BATCH)
        if over := {item.pk for item in known} - {item.pk for item in shown}:
            CalendarItem.objects.filter(pk__in=over).delete()
    return sorted(shown, key=lambda item: (item.content["starts"], item.made_at, item.uid))


_FOLLOWS = ["parts", "content", "last_day", "sequence", "changed_at", "gone_at"]


def _begun(person: Person, event: Event, now: datetime) -> CalendarItem:
    return CalendarItem(
        garden_id=event.garden_id,
        person=person,
        uid=uuid4(),
        parts=list(event.parts),
        content=event.content,
        last_day=event.last_day,
        made_at=now,
        changed_at=now,
    )


def _follow(item: CalendarItem, event: Event, now: datetime) -> bool:
    """Bring ``item`` up to ``event``; returns whether anything changed."""
    same = item.gone_at is None and item.content == event.content
    if same and item.parts == list(event.parts):
        return False
    item.parts, item.content, item.last_day = list(event.parts), event.content, event.last_day
    if not same:
        item.gone_at = None
        item.changed_at = now
        item.sequence += 1
    return True


def _is_over(item: CalendarItem, cutoff: datetime) -> bool:
    if item.gone_at is not None:
        return item.gone_at < cutoff
    return item.last_day < cutoff.date()


def _matched(
    events: Sequence[Event], known: Sequence[CalendarItem]
) -> list[tuple[Event, CalendarItem | None]]:
    """Pair each event with the item that has most of its parts; each item goes to one event.

    Between equals the event on the item's own day goes first.
    """
    owner: dict[str, CalendarItem] = {}
    # What is shown as planned goes before what is cancelled, what changed last before the rest.
    for item in sorted(known, key=lambda item: (item.gone_at is None, item.changed_at, item.pk)):
        owner.update(dict.fromkeys(item.parts, item))
    shared = Counter(
        (index, owner[part].pk)
        for index, event in enumerate(events)
        for part in event.parts
        if part in owner
    )
    by_pk = {item.pk: item for item in known}

    def order(pair: tuple[int, int]) -> tuple[int, bool, int, int]:
        index, pk = pair
        moved = by_pk[pk].content["starts"] != events[index].starts
        return (-shared[pair], moved, index, pk)

    found: dict[int, CalendarItem] = {}
    taken: set[int] = set()
    for index, pk in sorted(shared, key=order):
        if index not in found and pk not in taken:
            found[index] = by_pk[pk]
            taken.add(pk)
    return [(event, found.get(index)) for index, event in enumerate(events)]

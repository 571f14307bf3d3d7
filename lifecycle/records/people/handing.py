"""Plants and beds pass from hand to hand: proposed, accepted, declined or taken back.

A proposal runs from today, or from a day up to FARTHEST ahead, so that a move or a season's end
can be settled in time. What has already happened is recorded by a coordinator instead.
"""

from datetime import date, datetime, timedelta
from uuid import UUID

from django.db import transaction

from lifecycle.care.wording import short_date
from lifecycle.models import Entry, Garden, HandOver, HandOverItem, Membership, Person
from lifecycle.permissions import can, require
from lifecycle.records.crops.beginnings import USED
from lifecycle.records.people.handing_effect import settle
from lifecycle.records.people.handing_load import Load, check_load, check_receiver, lock_load
from lifecycle.records.people.handing_rows import (
    NOTE_LENGTH,
    WHY_LENGTH,
    close,
    day_at,
    held_row,
    plain_words,
    rows_with_people,
    site_of_load,
)
from lifecycle.records.refusal import Refused

FARTHEST = timedelta(days=60)
"""How far ahead of its day a hand-over can be proposed."""
BACK = timedelta(days=30)
"""How long ago what was agreed in person may have happened."""
PATIENCE = timedelta(days=7)
"""A proposal that nobody answered for this long is the coordinators' to settle."""
AGREED = "Agreed in person."
"""Why a hand-over was accepted that its receiver did not answer on a page."""
State = HandOver.State


def propose(
    actor: Membership,
    load: Load,
    *,
    giver: Person | None,
    to: Person,
    from_day: date,
    uuid: UUID,
    now: datetime,
    note: str = "",
) -> HandOver:
    """Propose that ``to`` looks after a load from a day on; ``giver`` None: nobody has it.

    Members give what is theirs or nobody's, coordinators also what others have. Whoever takes what
    nobody has need not answer themselves. The same ``uuid`` twice is one proposal. Raises Refused
    for what is not theirs, has ended, or is in another hand-over.
    """
    require(actor, "plant.hand_over")
    if (giver is not None and giver.pk != actor.person_id) or (giver is None and load.place):
        require(actor, "hand_over.lead")
    with transaction.atomic():
        locked, before = _begun(actor, load, uuid)
        if before is not None:
            return before
        today = site_of_load(locked).local_day(now)
        _check(actor, locked, giver, to, note)
        if not today <= from_day <= today + FARTHEST:
            raise Refused(
                f"Give a day from today, {short_date(today)}, to {short_date(today + FARTHEST)}. "
                "A coordinator can record what has happened already.",
                "from_day",
            )
        made = _write(actor, locked, giver, to, from_day, note, uuid, now)
        if giver is None and to.pk == actor.person_id:
            _accept(made, today, "", now)
    return made


def record_agreed(
    actor: Membership,
    load: Load,
    *,
    giver: Person | None,
    to: Person,
    happened_on: date,
    uuid: UUID,
    now: datetime,
    note: str = "",
) -> HandOver:
    """Record a hand-over that both agreed on in person, today or up to BACK ago; it counts at once.

    Raises Refused as ``propose`` does, and PermissionDenied for anybody but a coordinator.
    """
    require(actor, "hand_over.lead")
    with transaction.atomic():
        locked, before = _begun(actor, load, uuid)
        if before is not None:
            return before
        today = site_of_load(locked).local_day(now)
        _check(actor, locked, giver, to, note)
        if not today - BACK <= happened_on <= today:
            raise Refused(
                f"Give the day on which it happened, from {short_date(today - BACK)} to "
                f"{short_date(today)}. A day ahead is proposed to the receiver.",
                "from_day",
            )
        made = _write(actor, locked, giver, to, happened_on, note, uuid, now)
        made.answered_at, made.why = now, AGREED
        settle(made, happened_on, now=now)
        if made.state == State.CANCELLED:
            raise Refused(made.why.removeprefix(AGREED).strip())
    return made


def accept(actor: Membership, hand_over: HandOver, *, now: datetime) -> HandOver:
    """Accept what was proposed to the actor: today at once, else it takes effect on its day.

    Accepted after its day it counts from today: nobody had it before they said so.
    Raises Refused when it was answered or taken back meanwhile.
    """
    require(actor, "plant.hand_over")
    with transaction.atomic():
        held = held_row(actor, hand_over)
        _check_receiver_is(actor, held)
        _check_waits(held, actor)
        return _accept(held, day_at(held, now), "", now)


def accept_for(actor: Membership, hand_over: HandOver, *, now: datetime) -> HandOver:
    """Accept for a receiver who agreed in person. For coordinators. Raises Refused."""
    require(actor, "hand_over.lead")
    with transaction.atomic():
        held = held_row(actor, hand_over)
        _check_waits(held, actor)
        return _accept(held, day_at(held, now), AGREED, now)


def decline(actor: Membership, hand_over: HandOver, why: str, *, now: datetime) -> HandOver:
    """Decline what was proposed to the actor, with a reason. Raises Refused."""
    require(actor, "plant.hand_over")
    reason = plain_words(why, WHY_LENGTH, "why", "reason")
    if not reason:
        raise Refused("Say why, so that the giver knows what to do next.", "why")
    with transaction.atomic():
        held = held_row(actor, hand_over)
        _check_receiver_is(actor, held)
        _check_waits(held, actor)
        return close(held, State.DECLINED, reason, now=now)


def cancel(actor: Membership, hand_over: HandOver, *, now: datetime) -> HandOver:
    """Take a proposal back before it is accepted; a coordinator also one that is still ahead.

    Raises Refused when it was settled meanwhile, PermissionDenied for others' proposals.
    """
    with transaction.atomic():
        held = held_row(actor, hand_over)
        if actor.person_id not in (held.by_id, held.giver_id):
            require(actor, "hand_over.lead")
        require(actor, "plant.hand_over")
        if not (held.state == State.ACCEPTED and can(actor, "hand_over.lead")):
            _check_waits(held, actor)
        return close(held, State.CANCELLED, "", now=now)


def take_effect(hand_over: HandOver, *, now: datetime) -> HandOver | None:
    """Carry out an accepted hand-over whose day has come; None if there is nothing to do.

    Any number of callers at once carry it out once.
    """
    with transaction.atomic():
        held = rows_with_people().select_for_update(of=("self",)).get(pk=hand_over.pk)
        if held.state != State.ACCEPTED or held.from_day > day_at(held, now):
            return None
        assert held.answered_at is not None
        settle(held, max(held.from_day, day_at(held, held.answered_at)), now=now)
    return held


def unanswered(garden: Garden, now: datetime) -> list[HandOver]:
    """Return the proposals of a garden that nobody answered for PATIENCE, the oldest first."""
    return list(
        rows_with_people()
        .filter(garden=garden, state=State.PROPOSED, made_at__lte=now - PATIENCE)
        .order_by("made_at", "pk")
    )


def raise_unanswered(hand_over: HandOver, *, now: datetime) -> bool:
    """Note that coordinators are told of a proposal; True for the one caller who is to tell."""
    waiting = HandOver.objects.filter(
        pk=hand_over.pk, state=State.PROPOSED, raised_at__isnull=True, made_at__lte=now - PATIENCE
    )
    return waiting.update(raised_at=now) == 1


def _begun(actor: Membership, load: Load, uuid: UUID) -> tuple[Load, HandOver | None]:
    """Lock the load; return it with what the same form made before, if it was sent before."""
    locked = lock_load(load, actor.garden_id)
    before = HandOver.objects.filter(uuid=uuid).first()
    if before is None:
        if Entry.objects.filter(uuid=uuid).exists():
            raise Refused(USED)
        return locked, None
    own = (before.garden_id, before.by_id) == (actor.garden_id, actor.person_id)
    if not own or not _may_be_of(before, locked):
        raise Refused(USED)
    return locked, before


def _may_be_of(before: HandOver, load: Load) -> bool:
    """Return whether a hand-over was made of this load: what passed on is no longer in it."""
    items = {(item.plant_id, item.sowing_id, item.place_id) for item in before.items.all()}
    asked = [
        *((each.pk, None, None) for each in load.plants),
        *((None, each.pk, None) for each in load.sowings),
        *([(None, None, load.place.pk)] if load.place else []),
    ]
    return not asked or not items.isdisjoint(asked)


def _check(actor: Membership, load: Load, giver: Person | None, to: Person, note: str) -> None:
    if giver is not None and to.pk == giver.pk:
        raise Refused(f"{to} looks after it already. Choose somebody else.", "to")
    check_receiver(to, actor.garden_id)
    check_load(load, giver)
    plain_words(note, NOTE_LENGTH, "note", "note")


def _write(
    actor: Membership,
    load: Load,
    giver: Person | None,
    to: Person,
    from_day: date,
    note: str,
    uuid: UUID,
    now: datetime,
) -> HandOver:
    made = HandOver.objects.create(
        garden_id=actor.garden_id,
        uuid=uuid,
        by=actor.person,
        giver=giver,
        to=to,
        from_day=from_day,
        note=plain_words(note, NOTE_LENGTH, "note", "note"),
        made_at=now,
    )
    HandOverItem.objects.bulk_create(
        [
            *([HandOverItem(hand_over=made, place=load.place)] if load.place else []),
            *(HandOverItem(hand_over=made, plant=each) for each in load.plants),
            *(HandOverItem(hand_over=made, sowing=each) for each in load.sowings),
        ]
    )
    return made


def _accept(held: HandOver, today: date, why: str, now: datetime) -> HandOver:
    held.state, held.answered_at, held.why = State.ACCEPTED, now, why
    held.save(update_fields=["state", "answered_at", "why"])
    if held.from_day <= today:
        settle(held, today, now=now)
    return held


def _check_receiver_is(actor: Membership, held: HandOver) -> None:
    if held.to_id != actor.person_id:
        raise Refused(f"This was proposed to {held.to}. Only they can answer.")


def _check_waits(held: HandOver, actor: Membership) -> None:
    """Raise Refused, saying what became of it, unless the proposal still waits."""
    if held.state == State.PROPOSED:
        return
    who = "You" if held.to_id == actor.person_id else str(held.to)
    said = {
        State.ACCEPTED: f"{who} accepted this already.",
        State.DONE: f"{who} accepted this already.",
        State.DECLINED: f"{who} declined this already.",
        State.CANCELLED: "This was taken back, or came to nothing, meanwhile.",
    }[State(held.state)]
    if held.state in (State.ACCEPTED, State.DONE) and held.why.startswith(AGREED):
        said = "A coordinator noted already that you both agreed in person."
        said = said if who == "You" else f"A coordinator noted already that {held.to} agreed."
    raise Refused(f"{said} Nothing was changed.")

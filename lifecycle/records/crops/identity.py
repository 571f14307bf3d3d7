"""Which plant is this: doubt it, settle it, and take back what was settled.

A settled swap puts history right without rewriting it: one row says since when two labels
stood on each other's plants, and ``swaps`` resolves it whenever a record is read.
"""

from collections.abc import Iterable, Sequence
from datetime import date, datetime, timedelta
from uuid import UUID

from django.db import transaction

from lifecycle.life.fold import Fact, Life
from lifecycle.life.kinds import Kind
from lifecycle.models import Entry, Membership, Plant, Strike, Swap, SwapStrike, Variety
from lifecycle.permissions import require
from lifecycle.records.crops import ledger
from lifecycle.records.crops.beginnings import USED, begun_before, part_of
from lifecycle.records.crops.done_by_entry import reopen_done_by
from lifecycle.records.crops.drafts import Draft, check_draft
from lifecycle.records.crops.entries import append, draw, may_strike, site_of
from lifecycle.records.crops.swaps import swaps_around
from lifecycle.records.refusal import Refused

_NEXT = timedelta(microseconds=1)


def doubt(
    actor: Membership,
    plant: Plant,
    *,
    why: str,
    other: Plant | None,
    happened_on: date,
    note: str,
    uuid: UUID,
    now: datetime,
) -> Entry:
    """Write down that nobody is sure which plant this is; of two that may have swapped, on both.

    ``why`` is a choice of the kind. The same ``uuid`` twice is one act. Raises Refused when
    it cannot follow.
    """
    require(actor, "entry.log")
    pair = _pair(actor, plant, other)
    with transaction.atomic():
        locked = ledger.lock_around(*pair)
        before = _before(uuid, plant, Kind.IN_DOUBT, actor.garden_id)
        if before is not None:
            return before
        draft = Draft(Kind.IN_DOUBT, happened_on, uuid, choice=why, other=other, note=note)
        entry = _append(locked[plant.pk], draft, actor, now)
        if other is not None and locked[other.pk].alive:
            twin = Draft(
                *(Kind.IN_DOUBT, happened_on, part_of(uuid, other.code)),
                choice=why,
                other=plant,
                note=note,
            )
            _append(locked[other.pk], twin, actor, now)
    return entry


def settle_variety(
    actor: Membership,
    plant: Plant,
    *,
    how: str,
    variety: Variety | None,
    happened_on: date,
    note: str,
    uuid: UUID,
    now: datetime,
) -> Entry:
    """Settle of which variety a plant is; None: of the one its label said at first.

    ``Plant.variety`` follows, ``Plant.label_variety`` keeps the label's word.
    """
    require(actor, "entry.log")
    _pair(actor, plant, None)
    with transaction.atomic():
        locked = ledger.lock_around(plant)[plant.pk]
        before = _before(uuid, plant, Kind.SETTLED, actor.garden_id)
        if before is not None:
            return before
        settled = variety or locked.label_variety
        if not locked.in_doubt and settled.pk == locked.variety_id:
            raise Refused(f"Nobody doubts that this is {settled}. Nothing was written.")
        draft = Draft(Kind.SETTLED, happened_on, uuid, choice=how, variety=settled, note=note)
        entry = _append(locked, draft, actor, now)
        _refuse_still_in_doubt(locked)
    return entry


def settle_pair(
    actor: Membership,
    plant: Plant,
    other: Plant,
    *,
    how: str,
    since: date | None,
    until: date | None,
    happened_on: date,
    note: str,
    uuid: UUID,
    now: datetime,
) -> Swap | None:
    """Settle whether two plants had swapped labels: since a day, or (None) not at all.

    What was logged before this under one label and happened from ``since`` on, and before
    ``until`` where it is given, belongs to the other plant from now on. Each keeps its own
    beginning. Raises Refused naming the entries that could not stand in the other's record.
    """
    require(actor, "entry.log")
    pair = _pair(actor, plant, other)
    with transaction.atomic():
        locked = ledger.lock_around(*pair)
        again, before = _settled_before(uuid, pair, actor)
        if again:
            return before
        drafts = _settling(pair, how, happened_on, note, uuid)
        for one in pair:
            day = locked[one.pk].site.local_day(now)
            check_draft(drafts[one.pk], "plant", actor.garden_id, day)
        around = swaps_around(locked)
        at = _after_all(locked, around, now)
        swap = None
        if since is not None:
            _check_span(since, until, happened_on)
            _check_begun([locked[one.pk] for one in pair], since)
            _refuse_swapping_back(pair, since, until, around)
            swap = Swap(
                garden_id=actor.garden_id,
                uuid=uuid,
                first=plant,
                second=other,
                since=since,
                until=until,
                settled_by=actor.person,
                at=at,
                reason=note,
            )
            around = [*around, swap]
        lives = _refold(locked, around, "Settling this", drafts=drafts, at=at)
        living = [one for one in pair if lives[one.pk][0].alive]
        if not living:
            raise Refused("Both plants have ended; their records stay as they are.")
        if swap is not None:
            swap.save(force_insert=True)
        for one in living:
            draft = drafts[one.pk]
            ledger.write_entries(one, [draft], by=actor.person, now=now, stands_at=at)
        _project(locked, lives)
        for one in living:
            _refuse_still_in_doubt(locked[one.pk])
    return swap


def _settled_before(
    uuid: UUID, pair: Sequence[Plant], actor: Membership
) -> tuple[bool, Swap | None]:
    """Return whether this form settled the pair already, and the swap it wrote."""
    entries = [_before(part_of(uuid, one.code), one, Kind.SETTLED, actor.garden_id) for one in pair]
    swap = Swap.objects.filter(uuid=uuid).first()
    if swap is not None and swap.garden_id != actor.garden_id:
        raise Refused(USED)
    return swap is not None or any(entries), swap


def _settling(
    pair: Sequence[Plant], how: str, happened_on: date, note: str, uuid: UUID
) -> dict[int, Draft]:
    return {
        one.pk: Draft(
            *(Kind.SETTLED, happened_on, part_of(uuid, one.code)),
            choice=how,
            other=another,
            note=note,
        )
        for one, another in (pair, pair[::-1])
    }


def take_back(actor: Membership, entry: Entry, reason: str, *, now: datetime) -> None:
    """Take back what was written on two plants at once: a doubt, or how it was settled.

    Both entries are struck, and a swap with them, so that every entry counts again for the
    plant it counted for before. Twice is once. Raises Refused when a record could not stand.
    """
    may_strike(actor, entry)
    if entry.plant is None or entry.other is None:
        raise Refused("This entry was not written on two plants. Strike it on its own page.")
    with transaction.atomic():
        locked = ledger.lock_around(entry.plant, entry.other)
        if Strike.objects.filter(entry=entry).exists():
            return
        act = [entry, *_twins(entry)]
        swap = swap_of(entry)
        around = [each for each in swaps_around(locked) if swap is None or each.pk != swap.pk]
        gone = {each.pk for each in act}
        lives = _refold(locked, around, "Taking this back", without=gone)
        for each in act:
            line = draw(actor, each, reason, now)
            reopen_done_by(each, by=actor.person, now=now)
        if swap is not None:
            SwapStrike.objects.create(
                garden_id=swap.garden_id, swap=swap, by=line.by, at=now, reason=line.reason
            )
        _project(locked, lives)


def swap_of(entry: Entry) -> Swap | None:
    """Return the standing swap that was settled together with this entry."""
    if entry.kind != Kind.SETTLED or entry.plant is None or entry.other_id is None:
        return None
    for swap in swaps_around([entry.plant.pk]):
        if part_of(swap.uuid, entry.plant.code) == entry.uuid:
            return swap
    return None


def _pair(actor: Membership, plant: Plant, other: Plant | None) -> list[Plant]:
    pair = [plant] if other is None else [plant, other]
    if any(each.garden_id != actor.garden_id for each in pair):
        raise Refused("Choose plants of this garden.", "other")
    if other is not None and other.pk == plant.pk:
        raise Refused("A plant cannot swap with itself. Name the other plant.", "other")
    return pair


def _before(uuid: UUID, plant: Plant, kind: Kind, garden_id: int) -> Entry | None:
    before = begun_before(uuid, garden_id)
    if before is not None and (before.plant_id != plant.pk or before.kind != kind):
        raise Refused(USED)
    return before


def _append(plant: Plant, draft: Draft, actor: Membership, now: datetime) -> Entry:
    check_draft(draft, "plant", plant.garden_id, plant.site.local_day(now))
    return append(plant, draft, actor=actor, now=now)


def _check_span(since: date, until: date | None, settled_on: date) -> None:
    if since > settled_on:
        raise Refused(
            f"{since:%-d %B %Y} is after the day it was settled. Give that day or an earlier one.",
            "since",
        )
    if until is not None and not since < until <= settled_on:
        raise Refused(
            "The labels can only have been put right after they were swapped, and no later than "
            "the day it was settled. Correct the days, or leave the second one empty.",
            "until",
        )


def _check_begun(pair: Iterable[Plant], since: date) -> None:
    later = max(pair, key=lambda one: one.began_on)
    if since < later.began_on:
        raise Refused(
            f"{later} has been on record only since {later.began_on:%-d %B %Y}. Give that day or "
            "a later one.",
            "since",
        )


def _refuse_swapping_back(
    pair: Sequence[Plant], since: date, until: date | None, swaps: Iterable[Swap]
) -> None:
    """Raise Refused for a time in which the two are settled as swapped already."""
    for swap in swaps:
        if {swap.first_id, swap.second_id} != {one.pk for one in pair}:
            continue
        right_on = swap.until or pair[0].site.local_day(swap.at)
        if since < right_on and (until is None or swap.since < until):
            raise Refused(
                f"That {pair[0]} and {pair[1]} were swapped from {swap.since:%-d %B %Y} to "
                f"{right_on:%-d %B %Y} is settled already, and once more would swap them back. "
                "If it was wrong, take it back first.",
                "since",
            )


def _refuse_still_in_doubt(plant: Plant) -> None:
    if plant.in_doubt and plant.alive:
        raise Refused(
            f"{plant} was doubted later than the day given. Give the day of the doubt or a "
            "later one.",
            "happened_on",
        )


def _after_all(locked: Iterable[int], around: Sequence[Swap], now: datetime) -> datetime:
    """Return an instant after all that was written so far, whatever the clocks said."""
    facts = ledger.facts_by_record("plant", locked, around)
    last = max(fact.stands_at for own in facts.values() for fact in own)
    return max(now, last + _NEXT)


Lives = dict[int, tuple[Life, list[Fact]]]


def _refold(
    locked: dict[int, Plant],
    swaps: Sequence[Swap],
    act: str,
    *,
    drafts: dict[int, Draft] | None = None,
    at: datetime | None = None,
    without: Iterable[int] = (),
) -> Lives:
    """Fold every locked plant as ``swaps`` have it; a draft joins where its plant lives."""
    everything = ledger.facts_by_record("plant", locked, swaps)
    gone = set(without)
    lives: Lives = {}
    for pk, plant in locked.items():
        facts = [fact for fact in everything[pk] if fact.id not in gone]
        life = _fold(plant, facts, act)
        draft = (drafts or {}).get(pk)
        if draft is not None and at is not None and life.alive:
            facts.append(ledger.as_fact(draft, at))
            life = _fold(plant, facts, act)
        lives[pk] = (life, facts)
    return lives


def _fold(plant: Plant, facts: list[Fact], act: str) -> Life:
    try:
        return ledger.fold_or_refuse("plant", facts, act)
    except Refused as problem:
        raise Refused(f"{plant} ({plant.code}): {problem}") from None


def _project(locked: dict[int, Plant], lives: Lives) -> None:
    for pk, (life, facts) in lives.items():
        plant = locked[pk]
        ledger.project(plant, life, facts, site_of(life.place, plant.site_id))


def _twins(entry: Entry) -> list[Entry]:
    """Return the entry that the same act wrote on the other plant, if it did."""
    return list(
        Entry.objects.standing().filter(
            plant=entry.other_id,
            other=entry.plant_id,
            kind=entry.kind,
            by=entry.by_id,
            received_at=entry.received_at,
        )
    )

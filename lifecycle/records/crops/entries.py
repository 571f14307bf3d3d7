"""Log, strike and correct entries."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from django.db import transaction

from lifecycle.life.kinds import Kind
from lifecycle.models import Entry, Membership, Place, Strike, Task
from lifecycle.models.plants import Projection
from lifecycle.permissions import can, require
from lifecycle.records.crops import ledger
from lifecycle.records.crops.done_by_entry import close_done_by, reopen_done_by
from lifecycle.records.crops.drafts import Draft, check_draft, check_holder
from lifecycle.records.crops.swaps import owner_id, owner_of, swaps_of
from lifecycle.records.refusal import Refused
from lifecycle.records.work.task_rows import lock_task, still_here
from lifecycle.records.work.task_standing import closed_words


@dataclass(frozen=True, slots=True)
class Logged:
    """The entry as written; ``created`` is False when the same draft had come before."""

    entry: Entry
    created: bool


def site_of(place_id: int | None, fallback: int) -> int:
    """Return the site of a place, or ``fallback`` when there is no place."""
    if place_id is None:
        return fallback
    return Place.objects.values_list("site_id", flat=True).get(pk=place_id)


def log(actor: Membership, record: Projection, draft: Draft, *, now: datetime) -> Logged:
    """Write one entry of ``record`` and refresh its projection.

    The same ``draft.uuid`` twice makes one entry. Raises Refused when the entry cannot
    follow or is out of bounds, PermissionDenied when the actor may not log here.
    """
    require(actor, "entry.log")
    _same_garden(actor, record)
    with transaction.atomic():
        record = ledger.lock(record)
        before = Entry.objects.filter(uuid=draft.uuid).first()
        if before is not None:
            return Logged(_same_entry(before, record, draft), False)
        today = record.site.local_day(now)
        rule = check_draft(draft, ledger.subject_of(record), record.garden_id, today)
        if not rule.by_hand:
            raise Refused(f"“{rule.label}” is written together with what it makes, not alone.")
        if draft.holder is not None:
            check_holder(draft.holder, record.garden_id)
        entry = append(record, draft, actor=actor, now=now)
    return Logged(entry, True)


def complete(
    actor: Membership, task: Task, record: Projection, draft: Draft, *, now: datetime
) -> Logged:
    """Do ``task`` by logging ``draft`` on its record.

    The same draft twice is one entry. Raises Refused when somebody else closed the task
    first, or when the entry would lie too early to count for it.
    """
    require(actor, "task.do")
    with transaction.atomic():
        still_here(actor)
        ledger.lock(record)
        current = lock_task(actor, task)
        again = Entry.objects.filter(uuid=draft.uuid).exists()
        if current.state != Task.State.OPEN and not again:
            raise Refused(f"{closed_words(current, now)} Nothing was written.")
        if draft.happened_on < current.counts_from:
            raise Refused(
                f"For this task an entry counts from {current.counts_from:%-d %B %Y}. Give a later "
                "date, or log it on the plant's own page.",
                "happened_on",
            )
        return log(actor, record, draft, now=now)


def append(record: Projection, draft: Draft, *, actor: Membership, now: datetime) -> Entry:
    """Add a checked draft to a locked record, inside the caller's transaction."""
    around = swaps_of(record)
    facts = ledger.standing_facts(record, around)
    # What comes in after a swap was settled stays with its label, whatever the clock says.
    stands_at = max([now, *(swap.at for swap in around)])
    new = ledger.as_fact(draft, stands_at)
    life = ledger.fold_or_refuse(ledger.subject_of(record), [*facts, new], "This entry")
    [entry] = ledger.write_entries(record, [draft], by=actor.person, now=now, stands_at=stands_at)
    ledger.project(record, life, [*facts, new], site_of(life.place, record.site_id))
    close_done_by(record, entry, by=actor.person, now=now)
    return entry


def log_for_several(
    actor: Membership, drafts: Sequence[tuple[Projection, Draft]], *, now: datetime
) -> list[Logged]:
    """Log one draft for each of several records: all of them, or none.

    Raises Refused naming the record that cannot take it.
    """
    with transaction.atomic():
        logged = []
        for record, draft in drafts:
            try:
                logged.append(log(actor, record, draft, now=now))
            except Refused as problem:
                raise Refused(f"{record}: {problem}", problem.field) from None
    return logged


def strike(actor: Membership, entry: Entry, reason: str, *, now: datetime) -> Strike:
    """Draw a line through ``entry`` and refold. The entry stays readable for ever.

    Striking twice is one strike. Raises Refused when later entries need it.
    """
    may_strike(actor, entry)
    with transaction.atomic():
        record = ledger.lock_around(_record_of(entry))[owner_id(entry)]
        before = Strike.objects.filter(entry=entry).first()
        if before is not None:
            return before
        refuse_paired(entry)
        facts = [fact for fact in ledger.standing_facts(record) if fact.id != entry.pk]
        life = ledger.fold_or_refuse(ledger.subject_of(record), facts, "Striking this entry")
        line = draw(actor, entry, reason, now)
        ledger.project(record, life, facts, site_of(life.place, record.site_id))
        reopen_done_by(entry, by=actor.person, now=now)
    return line


def correct(actor: Membership, entry: Entry, draft: Draft, reason: str, *, now: datetime) -> Entry:
    """Strike ``entry`` and write ``draft`` in its stead, in one step.

    On the same day the replacement keeps the struck entry's position, and so it does where
    a swap was settled since: a correction belongs to the plant that the entry was about.
    Raises Refused when the replacement cannot stand there, or when the entry was struck
    before.
    """
    may_strike(actor, entry)
    with transaction.atomic():
        label = _record_of(entry)
        locked = ledger.lock_around(label)
        before = Entry.objects.filter(uuid=draft.uuid).first()
        if before is not None and before.pk != entry.pk:
            return _same_entry(before, label, draft)
        _refuse_used(entry, before)
        record = locked[owner_id(entry)]
        _check_correction(entry, draft, record, now)
        if draft.kind == entry.kind and draft.variety is None:
            draft = replace(draft, variety=entry.variety)
        around = swaps_of(label)
        stays = draft.happened_on == entry.happened_on or any(
            entry.stands_at < swap.at for swap in around
        )
        stands_at = entry.stands_at if stays else now
        heir = locked[owner_of(label.pk, draft.kind, draft.happened_on, stands_at, around)]
        facts = {
            each.pk: [fact for fact in ledger.standing_facts(each, around) if fact.id != entry.pk]
            for each in (record, heir)
        }
        facts[heir.pk].append(ledger.as_fact(draft, stands_at))
        lives = {
            pk: ledger.fold_or_refuse(ledger.subject_of(label), own, "This correction")
            for pk, own in facts.items()
        }
        draw(actor, entry, reason, now)
        [new] = ledger.write_entries(
            label, [draft], by=actor.person, now=now, stands_at=stands_at, replaces=entry
        )
        for pk, life in lives.items():
            ledger.project(locked[pk], life, facts[pk], site_of(life.place, locked[pk].site_id))
        reopen_done_by(entry, by=actor.person, now=now)
        close_done_by(heir, new, by=actor.person, now=now)
    return new


def _refuse_used(entry: Entry, before: Entry | None) -> None:
    if before is not None:
        raise Refused("This form was already used for another act. Load the page again.")
    if Strike.objects.filter(entry=entry).exists():
        raise Refused("This entry was already struck through. Correct the one that replaced it.")
    refuse_paired(entry)


def _check_correction(entry: Entry, draft: Draft, record: Projection, now: datetime) -> None:
    subject = ledger.subject_of(record)
    rule = check_draft(draft, subject, record.garden_id, record.site.local_day(now))
    if not rule.by_hand and draft.kind != entry.kind:
        raise Refused(f"“{rule.label}” is written together with what it makes, not alone.")
    if draft.holder is not None:
        check_holder(draft.holder, record.garden_id)


_PAIRED = {
    *(Kind.POTTED_UP, Kind.SPLIT, Kind.CUTTING_TAKEN, Kind.SEED_SAVED),
    *(Kind.RAISED, Kind.STRUCK_CUTTING, Kind.SPLIT_OFF),
}


def refuse_paired(entry: Entry) -> None:
    """Raise Refused for an entry that belongs to an act on two records."""
    if entry.other_id is not None:
        raise Refused(
            "This entry was written on two plants. Take it back on the page "
            "“Which plant is this” of either."
        )
    if Kind(entry.kind) in _PAIRED:
        raise Refused(
            "This entry belongs to an act that wrote two records, and cannot be changed alone. "
            "End the plant that should not exist, and add a note."
        )


def draw(actor: Membership, entry: Entry, reason: str, now: datetime) -> Strike:
    """Draw a line through an entry, inside the caller's transaction."""
    reason = reason.replace("\x00", " ")
    if len(reason) > 200:
        raise Refused(f"The reason has {len(reason)} characters; keep it to 200.", "reason")
    return Strike.objects.create(
        garden_id=entry.garden_id, entry=entry, by=actor.person, at=now, reason=reason
    )


def may_strike(actor: Membership, entry: Entry) -> None:
    """Raise unless the actor may strike this entry: their own, or any for a coordinator."""
    if entry.garden_id != actor.garden_id:
        raise Refused("That entry does not belong to this garden.")
    own = entry.by_id == actor.person_id and can(actor, "entry.strike_own")
    if not own:
        require(actor, "entry.strike_any")


def _record_of(entry: Entry) -> Projection:
    record = entry.plant or entry.sowing
    assert record is not None
    return record


def _same_garden(actor: Membership, record: Projection) -> None:
    if record.garden_id != actor.garden_id:
        raise Refused("That record does not belong to this garden.")


def _same_entry(before: Entry, record: Projection, draft: Draft) -> Entry:
    same = _record_of(before) == record and before.kind == draft.kind
    if not same:
        raise Refused("This form was already used for another entry. Load the page again.")
    return before

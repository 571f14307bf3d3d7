"""A frost night in the record: who decided what, which places were covered, and what came of it."""

from datetime import UTC, date, datetime, timedelta
from uuid import NAMESPACE_OID, UUID, uuid5

from django.db import transaction

from lifecycle.life.kinds import Kind
from lifecycle.life.phases import Phase
from lifecycle.models import Entry, FrostBed, FrostNight, Membership, Plant
from lifecycle.permissions import require
from lifecycle.records.crops.drafts import Draft
from lifecycle.records.crops.entries import log_for_several, may_strike, strike
from lifecycle.records.ground.out_there import out_in
from lifecycle.records.refusal import Refused
from lifecycle.records.weather.readings import type_reading

WHY_LENGTH = 200


def not_needed(actor: Membership, night: FrostNight, why: str, *, now: datetime) -> FrostNight:
    """Say that nothing is to be done this night, and why; nobody is asked any more."""
    require(actor, "frost.lead")
    why = " ".join(why.replace("\x00", " ").split())
    if not why:
        raise Refused("Say in a few words why it is not needed.", "why")
    if len(why) > WHY_LENGTH:
        raise Refused(f"The reason has {len(why)} characters; keep it to {WHY_LENGTH}.", "why")
    with transaction.atomic():
        row = _locked_night(actor, night)
        _refuse_over(row)
        row.state = FrostNight.State.NOT_NEEDED
        row.dismissed_by, row.dismissed_why, row.called_off_at = actor.person, why, now
        row.save(update_fields=["state", "dismissed_by", "dismissed_why", "called_off_at"])
    return row


def call_by_hand(actor: Membership, night: FrostNight, *, now: datetime) -> FrostNight:
    """Call the coming night, whatever the chances; no forecast calls it off again."""
    require(actor, "frost.lead")
    with transaction.atomic():
        row = _locked_night(actor, night)
        _refuse_over(row)
        if row.night != row.site.local_day(now):
            raise Refused(f"The night of {row.night:%-d %B} is called on its own day, not before.")
        row.state = FrostNight.State.CALLED
        row.called_by = actor.person
        row.called_at = row.called_at or now
        row.dismissed_by, row.dismissed_why, row.called_off_at = None, "", None
        row.save(
            update_fields=[
                *("state", "called_by", "called_at", "called_off_at"),
                *("dismissed_by", "dismissed_why"),
            ]
        )
    return row


def mark(actor: Membership, bed: FrostBed, seen: str, *, now: datetime) -> list[Plant]:
    """Set down what was seen of a place: done, not done, or not known.

    Done writes “Covered” for every plant there that frost can hurt; taking it back strikes
    those entries. The same mark twice is one. Returns the plants whose record changed.
    """
    require(actor, "frost.do")
    if seen not in FrostBed.Mark.values:
        raise Refused("Choose one of: covered, not covered, not known.", "mark")
    with transaction.atomic():
        row = _locked_bed(actor, bed)
        _check_evening(row.frost_night, now)
        if row.mark == seen:
            return []
        if row.uncovered_at is not None:
            raise Refused(f"{row.place} was uncovered already. Take that back first.")
        if row.mark == FrostBed.Mark.DONE:
            changed = _strike(actor, row, Kind.COVERED, row.marked_at, now)
        elif seen == FrostBed.Mark.DONE:
            changed = _cover(actor, row, now)
        else:
            changed = []
        row.mark = seen
        row.marked_by, row.marked_at = (actor.person, now) if seen else (None, None)
        row.save(update_fields=["mark", "marked_by", "marked_at"])
    return changed


def uncover(actor: Membership, bed: FrostBed, *, now: datetime) -> list[Plant]:
    """Set down that a covered place is uncovered: an entry for each plant that was covered."""
    require(actor, "frost.do")
    with transaction.atomic():
        row = _locked_bed(actor, bed)
        if row.uncovered_at is not None:
            return []
        if row.mark != FrostBed.Mark.DONE:
            raise Refused(f"{row.place} is not marked as covered. Mark that first.")
        covered = _entries(row, Kind.COVERED, row.marked_at)
        plants = [each.plant for each in covered if each.plant and each.plant.alive]
        day = max(row.place.site.local_day(now), row.frost_night.night)
        changed = _log(actor, row, Kind.UNCOVERED, plants, day, now)
        row.uncovered_by, row.uncovered_at = actor.person, now
        row.save(update_fields=["uncovered_by", "uncovered_at"])
    return changed


def undo_uncover(actor: Membership, bed: FrostBed, *, now: datetime) -> list[Plant]:
    """Take back that a place was uncovered: its entries are struck."""
    require(actor, "frost.do")
    with transaction.atomic():
        row = _locked_bed(actor, bed)
        if row.uncovered_at is None:
            return []
        changed = _strike(actor, row, Kind.UNCOVERED, row.uncovered_at, now)
        row.uncovered_by = row.uncovered_at = None
        row.save(update_fields=["uncovered_by", "uncovered_at"])
    return changed


def what_happened(
    actor: Membership, night: FrostNight, lowest_c: float | None, harm: str, *, now: datetime
) -> FrostNight:
    """Set down the morning after: the lowest that was read, in C, and what the plants show.

    The low is kept as the reading of its day too. May be given again: the last word stands.
    """
    require(actor, "frost.do")
    if lowest_c is None and not harm:
        raise Refused("Give the lowest that was read, or say what the plants show.", "lowest")
    if harm and harm not in FrostNight.Harm.values:
        raise Refused("Choose one of: nothing harmed, some harmed, some killed.", "harm")
    with transaction.atomic():
        row = _locked_night(actor, night)
        morning = row.night + timedelta(1)
        if row.site.local_day(now) < morning:
            raise Refused("The night is not over yet. Say tomorrow morning what happened.")
        if lowest_c is not None:
            _read(actor, row, lowest_c, morning, now)
        row.lowest_c = row.lowest_c if lowest_c is None else lowest_c
        row.harm = harm or row.harm
        row.outcome_by, row.outcome_at = actor.person, now
        row.save(update_fields=["lowest_c", "harm", "outcome_by", "outcome_at"])
    return row


def _read(
    actor: Membership, night: FrostNight, lowest_c: float, morning: date, now: datetime
) -> None:
    try:
        type_reading(
            actor, night.site, day=morning, tmin_c=lowest_c, tmax_c=None, rain_mm=None, now=now
        )
    except Refused as problem:
        raise Refused(str(problem), "lowest") from None


def _locked_night(actor: Membership, night: FrostNight) -> FrostNight:
    if night.garden_id != actor.garden_id:
        raise Refused("That night does not belong to this garden.")
    rows = FrostNight.objects.select_for_update(of=("self",)).select_related("site")
    return rows.get(pk=night.pk)


def _locked_bed(actor: Membership, bed: FrostBed) -> FrostBed:
    if bed.garden_id != actor.garden_id:
        raise Refused("That place does not belong to this garden.")
    rows = FrostBed.objects.select_for_update(of=("self",))
    return rows.select_related("frost_night", "place__site").get(pk=bed.pk)


def _refuse_over(night: FrostNight) -> None:
    if night.state == FrostNight.State.OVER:
        raise Refused(f"The night of {night.night:%-d %B %Y} is over.")


def _check_evening(night: FrostNight, now: datetime) -> None:
    today = night.site.local_day(now)
    if today < night.night:
        raise Refused(f"The night of {night.night:%-d %B} has not come yet. Mark it on its day.")
    if today > night.night + timedelta(1):
        raise Refused(f"The night of {night.night:%-d %B} is over. Log it on the plants’ pages.")


def _cover(actor: Membership, bed: FrostBed, now: datetime) -> list[Plant]:
    night = bed.frost_night.night
    plants = [
        record
        for record in out_in(bed.place)
        if isinstance(record, Plant) and record.began_on <= night
    ]
    return _log(actor, bed, Kind.COVERED, plants, night, now)


def _log(
    actor: Membership, bed: FrostBed, kind: Kind, plants: list[Plant], day: date, now: datetime
) -> list[Plant]:
    note = _NOTES[kind] if bed.action == FrostBed.Action.BRING_IN else ""
    log_for_several(
        actor,
        [
            (plant, Draft(kind, day, note=note, uuid=_entry_id(bed, kind, now, plant.pk)))
            for plant in plants
        ],
        now=now,
    )
    return plants


_NOTES = {Kind.COVERED: "Brought in for the night.", Kind.UNCOVERED: "Put out again."}
"""A pot comes in for one night only: moving it in the record would plan it anew under a roof."""


def _strike(
    actor: Membership, bed: FrostBed, kind: Kind, at: datetime | None, now: datetime
) -> list[Plant]:
    entries = _entries(bed, kind, at)
    for entry in entries:
        may_strike(actor, entry)
    for entry in entries:
        strike(actor, entry, "Taken back on the page of the frost night.", now=now)
    return [entry.plant for entry in entries if entry.plant and entry.plant.phase != Phase.ENDED]


def _entries(bed: FrostBed, kind: Kind, at: datetime | None) -> list[Entry]:
    """Return the standing entries that this place's mark of that instant wrote."""
    if at is None:
        return []
    found = Entry.objects.standing().filter(
        garden_id=bed.garden_id, kind=kind, received_at=at, plant__isnull=False
    )
    return [
        entry
        for entry in found.select_related("plant__site", "plant__variety").order_by("pk")
        if entry.plant_id and entry.uuid == _entry_id(bed, kind, at, entry.plant_id)
    ]


def _entry_id(bed: FrostBed, kind: Kind, at: datetime, plant: int) -> UUID:
    return uuid5(NAMESPACE_OID, f"frost {bed.pk} {kind} {at.astimezone(UTC).isoformat()} {plant}")

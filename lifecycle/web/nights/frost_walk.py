"""The walking-order list of a frost night: place by place, what to do and what it stands."""

from collections.abc import Sequence
from dataclasses import dataclass

from lifecycle.care.frost_limits import Limits
from lifecycle.care.frost_night import Action, OutThere
from lifecycle.care.frost_words import ACTION_WORDS
from lifecycle.care.wording import degrees
from lifecycle.models import FrostBed, FrostNight, Person, Plant, Sowing
from lifecycle.records.ground.out_there import OutPlace, places_out
from lifecycle.reminders.nights.frost_facts import beds_of, short_label

NAMED = 12
"""Plants of one line that are named; the others are counted."""


@dataclass(frozen=True, slots=True)
class Line:
    """Plants of a place with one thing to do and the same limits; "" as all the place."""

    action: str
    plants: str
    limit: str


@dataclass(frozen=True, slots=True)
class Stop:
    """A place on the walk. ``lines`` is empty for a night that is past."""

    bed: FrostBed
    what: str
    lines: tuple[Line, ...]
    material: str
    kept_in: str

    @property
    def to_do(self) -> bool:
        """Whether somebody has to go there."""
        return self.bed.action != FrostBed.Action.LEAVE

    @property
    def done_word(self) -> str:
        """What its button says."""
        return "Brought in" if self.bed.action == FrostBed.Action.BRING_IN else "Covered"

    @property
    def mark_words(self) -> str:
        """What was seen there."""
        done = self.done_word.lower()
        return {"done": done, "not_done": f"not {done}"}.get(self.bed.mark, "not known")

    @property
    def undone_word(self) -> str:
        """What its button says in the morning."""
        return "Put out" if self.bed.action == FrostBed.Action.BRING_IN else "Uncovered"


def walk(night: FrostNight, person: Person, kept: dict[str, str], *, past: bool) -> list[Stop]:
    """Return the places of a night in walking order, for a reader.

    ``kept`` says where each kind of cover is kept. What stands in a place is told as it stands
    now, so a night that is past keeps to its numbers.
    """
    standing = {} if past else {each.place.pk: each for each in places_out(night.site)}
    return [_stop(bed, standing.get(bed.place_id), person, kept) for bed in beds_of(night)]


def _stop(bed: FrostBed, out: OutPlace | None, person: Person, kept: dict[str, str]) -> Stop:
    word = ACTION_WORDS[Action(bed.action)]
    number = f"{bed.plants} plant{'' if bed.plants == 1 else 's'}"
    what = word if bed.action == FrostBed.Action.LEAVE else f"{word}: {number}"
    material = f"{bed.pieces} of {short_label(bed.protection)}" if bed.protection else ""
    return Stop(
        bed=bed,
        what=what,
        lines=() if out is None else _lines(bed, out, person),
        material=material,
        kept_in=kept.get(bed.protection, ""),
    )


def _lines(bed: FrostBed, out: OutPlace, person: Person) -> tuple[Line, ...]:
    together: dict[tuple[str, Limits | None], list[str]] = {}
    for record, judged in zip(out.records, out.spot.plants, strict=True):
        action = bed.action if judged.limits else FrostBed.Action.LEAVE
        together.setdefault((action, judged.limits), []).append(_name(record, judged))
    return tuple(
        Line(
            "" if action == bed.action else ACTION_WORDS[Action(action)],
            _names(names),
            limit_words(limits, person),
        )
        for (action, limits), names in together.items()
    )


def _name(record: Plant | Sowing, judged: OutThere) -> str:
    if isinstance(record, Sowing):
        return f"{record.variety}, a sowing"
    return f"{record.name}, a pair" if judged.count > 1 else record.name


def _names(names: Sequence[str]) -> str:
    rest = len(names) - NAMED
    return "; ".join(names[:NAMED]) + (f"; and {rest} more" if rest > 0 else "")


def limit_words(limits: Limits | None, person: Person) -> str:
    """Return what plants stand, in the reader's unit."""
    if limits is None:
        return "no frost limit is published for it"
    unit = person.temperature
    words = f"harmed at {degrees(limits.harm_c, unit)} or below, killed at "
    words += f"{degrees(limits.kill_c, unit)} or below"
    if limits.crown_unknown:
        words += "; what its crown stands is not published"
    return words


def limits_told(stops: Sequence[Stop]) -> list[str]:
    """Return each limit of the walk once, as paper has no room to repeat it."""
    told = [line.limit for stop in stops if stop.to_do for line in stop.lines]
    return list(dict.fromkeys(limit[0].upper() + limit[1:] for limit in told))

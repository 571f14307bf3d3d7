"""The week's work as its page shows it: a row a piece, a row a person, and what publishing does."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, timedelta

from lifecycle.records.work.fair_shares import Shares, fair_shares, share_words, to_be_shared
from lifecycle.records.work.minding import where_of
from lifecycle.records.work.week_work import Piece, Week, Worker, loads
from lifecycle.reminders.work.task_words import time_words, what
from lifecycle.web.ground.place_names import place_words
from lifecycle.web.words import ago, counted, day_words, due_words
from lifecycle.web.work.week_doubts import doubt_about

QUIET_AFTER = timedelta(days=7)

FREE, ALL = "free", "all"
"""What the page ticks when asked to: what nobody has or is meant for, or everything."""


@dataclass(frozen=True, slots=True)
class PieceRow:
    """One piece of work; ``draft`` says what is meant with it, ``before`` who did it last.

    ``doubt`` says what speaks against who it is meant for.
    """

    key: str
    what: str
    where: str
    due: str
    minutes: int
    who: str
    draft: str
    doubt: str
    before: str
    ticked: bool


@dataclass(frozen=True, slots=True)
class PersonRow:
    """One member with their minutes as things stand, and as they would be published."""

    name: str
    now: int
    then: int
    seen: str
    quiet: bool
    share: str


@dataclass(frozen=True, slots=True)
class WeekPage:
    """What the page shows. ``send`` is how many people publishing tells of something new."""

    heading: str
    pieces: list[PieceRow]
    people: list[PersonRow]
    drafted: int
    send: int
    whole: str
    unfit: list[str]


def week_page(
    week: Week, pick: str, ticked: Collection[str], *, explain: bool, utc_day: date
) -> WeekPage:
    """Return the page of a week. One query, for the names of places.

    ``utc_day`` is the day by which visits are kept, ``pick`` what its address asks to tick,
    ``ticked`` are keys that were ticked already. A proposal is explained while some of its
    drafts stand, or when ``explain`` asks for it.
    """
    drafts = [piece for piece in week.pieces if piece.draft is not None]
    now = loads((piece, piece.minder) for piece in week.pieces)
    then = loads((piece, piece.meant_for) for piece in week.pieces)
    proposed = explain or any(_is_proposed(piece) for piece in drafts)
    places = place_words(where_of(piece.tasks[0]) for piece in week.pieces)
    shares = fair_shares(week, to_be_shared(week)) if proposed and week.workers else None
    return WeekPage(
        heading=_heading(week, sum(len(piece.tasks) for piece in drafts)),
        pieces=[_piece_row(piece, week, pick, ticked, then, places) for piece in week.pieces],
        people=[_person_row(one, week, now, then, utc_day) for one in week.workers.values()],
        drafted=len(drafts),
        send=len(_told(drafts)),
        whole=_whole(shares, then, week) if shares else "",
        unfit=[_unfit(each.piece, each.why, places) for each in shares.unfit] if shares else [],
    )


def piece_words(piece: Piece) -> str:
    """Return what a piece asks for: "Lift: 3 plants"."""
    return what(piece.tasks)


def _heading(week: Week, drafted: int) -> str:
    free = sum(_is_free(piece) for piece in week.pieces)
    if not week.pieces:
        return "Nothing falls due in the next seven days"
    parts = []
    if free:
        parts.append(f"{counted(free, 'thing has', 'things have')} nobody")
    if drafted:
        parts.append(f"{counted(drafted, 'task')} drafted")
    return f"The week’s work: {', '.join(parts) or 'everything has somebody'}"


def _is_free(piece: Piece) -> bool:
    return piece.meant_for is None and piece.draft is None


def _told(drafts: Collection[Piece]) -> set[int]:
    """Return the people whom publishing tells of something new."""
    moved = [piece for piece in drafts if piece.meant_for != piece.minder]
    people = {who for piece in moved for who in (piece.meant_for, piece.minder)}
    return {who for who in people if who is not None}


def _piece_row(
    piece: Piece,
    week: Week,
    pick: str,
    ticked: Collection[str],
    then: dict[int, int],
    places: dict[int, str],
) -> PieceRow:
    picked = pick == ALL or (pick == FREE and _is_free(piece))
    return PieceRow(
        key=piece.key,
        what=piece_words(piece),
        where=_where(piece, places) or str(piece.tasks[0].site),
        due=_due(piece, week.first_day),
        minutes=piece.minutes,
        who=_name(piece.minder, week) or "Nobody",
        draft=_draft_words(piece, week),
        doubt=doubt_about(piece, week, then),
        before=_name(piece.before, week),
        ticked=picked or piece.key in ticked,
    )


def _where(piece: Piece, places: dict[int, str]) -> str:
    place = where_of(piece.tasks[0])
    return places[place.pk] if place else ""


def _due(piece: Piece, today: date) -> str:
    """Return by when all of it is due, and at what time of the day where that is set."""
    first, last = (pick(task.latest for task in piece.tasks) for pick in (min, max))
    due = due_words(min(task.best for task in piece.tasks), first, today)
    if last != first:
        due = f"{due}, the last by {day_words(last, today)}"
    at = time_words(piece.tasks[0])
    return f"{due}, {at}" if at else due


def _draft_words(piece: Piece, week: Week) -> str:
    if piece.draft is None:
        return ""
    if piece.draft.to is None:
        return "Back to its holder" if piece.holder is not None else "Left to nobody"
    if piece.draft.to_id not in week.workers:
        return f"{piece.draft.to}, who does not work here any more"
    return f"{piece.draft.to}{', proposed' if piece.draft.proposed else ''}"


def _name(person: int | None, week: Week) -> str:
    return str(week.workers[person].member.person) if person in week.workers else ""


def _person_row(
    worker: Worker, week: Week, now: dict[int, int], then: dict[int, int], utc_day: date
) -> PersonRow:
    seen: date | None = worker.member.person.last_seen_on
    return PersonRow(
        name=str(worker.member.person),
        now=now.get(worker.pk, 0),
        then=then.get(worker.pk, 0),
        seen=_seen(seen, week.first_day, utc_day) if seen else "not yet",
        quiet=seen is not None and seen < week.first_day - QUIET_AFTER,
        share=share_words(week, worker),
    )


def _seen(seen: date, today: date, utc_day: date) -> str:
    """Return when somebody was here, by a day of UTC; here it may be the next day or the last."""
    return "today" if seen >= min(utc_day, today) else ago(seen, today)


def _whole(shares: Shares, then: dict[int, int], week: Week) -> str:
    """Return what is said of the proposal as a whole; changed by hand, what it could be."""
    overtaken = _overtaken(shares, week)
    if overtaken:
        return (
            "The proposal is out of date, since other work was given out after it: without it "
            f"{' and '.join(overtaken)} already, and would still get more. Propose again."
        )
    heaviest = max(
        (then.get(who, 0) for who in week.workers if who not in shares.heavier), default=0
    )
    if shares.whole and heaviest > shares.heaviest:
        return (
            f"The heaviest share is {heaviest} minutes now; the fair proposal has "
            f"{shares.heaviest}."
        )
    return shares.whole


def _overtaken(shares: Shares, week: Week) -> list[str]:
    """Return who is still proposed for something and has more by now than the heaviest share."""
    proposed = {piece.meant_for for piece in week.pieces if _is_proposed(piece)}
    has = loads((piece, piece.meant_for) for piece in week.pieces if not _is_proposed(piece))
    return [
        f"{worker.member.person} has {has.get(worker.pk, 0)} minutes"
        for worker in week.workers.values()
        if worker.pk in shares.heavier and worker.pk in proposed
    ]


def _is_proposed(piece: Piece) -> bool:
    return piece.draft is not None and piece.draft.proposed


def _unfit(piece: Piece, why: str, places: dict[int, str]) -> str:
    where = _where(piece, places)
    return f"{piece_words(piece)}{f', {where}' if where else ''}: {why}."

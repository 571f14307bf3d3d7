"""A fair proposal for the week: who is given what nobody has, and in a sentence each why."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date

import numpy as np

from lifecycle.agronomy.allocation import Allocation, allocate
from lifecycle.care.skills import SKILLS
from lifecycle.records.work.week_work import Piece, Week, Worker, loads

_HOLDER, _BEFORE, _HAS_IT = 4, 2, 1
"""What makes a piece of work suit a person, where loads come out alike: the first weighs most."""

MOST_NAMED = 4


@dataclass(frozen=True, slots=True)
class Unfit:
    """A piece of work that nobody is proposed for, and why."""

    piece: Piece
    why: str


@dataclass(frozen=True, slots=True)
class Shares:
    """A proposal: each piece with the person it goes to, and those that nobody can do.

    ``whole`` says of the heaviest share why it is not smaller. ``heavier`` are the people who
    have more than that before anything is given out, and get nothing.
    """

    given: tuple[tuple[Piece, int], ...]
    unfit: tuple[Unfit, ...]
    heaviest: int
    heavier: frozenset[int]
    whole: str


def to_be_shared(week: Week, ticked: Collection[str] = ()) -> list[Piece]:
    """Return what a proposal may give out: what nobody has and nobody has decided on by hand.

    ``ticked`` are keys of pieces that a coordinator frees for it.
    """
    wanted = set(ticked)
    return [piece for piece in week.pieces if piece.key in wanted or _is_free(piece)]


def _is_free(piece: Piece) -> bool:
    if piece.draft is not None:
        return piece.draft.proposed
    return piece.minder is None


def fair_shares(week: Week, pieces: Collection[Piece]) -> Shares:
    """Share out ``pieces`` among the garden's people so that the heaviest load is least.

    What people have already, or a coordinator means for them, stays and counts. Nobody gets more
    than the minutes a week they offer, what needs a skill they did not name, or what falls on
    days on which they are away.
    """
    sharing = list(pieces)
    people = list(week.workers.values())
    apart = {piece.key for piece in sharing}
    has = loads((each, each.meant_for) for each in week.pieces if each.key not in apart)
    found = allocate(
        [piece.minutes for piece in sharing],
        np.array([[each.possible_for(one) for one in people] for each in sharing], dtype=bool),
        [has.get(one.pk, 0) for one in people],
        limits=[one.member.minutes_a_week for one in people],
        liking=np.array([[_liking(each, one) for one in people] for each in sharing]),
    )
    return Shares(
        given=tuple(
            (piece, people[who].pk)
            for piece, who in zip(sharing, found.who, strict=True)
            if who is not None
        ),
        unfit=tuple(
            Unfit(sharing[number], _why_nobody(sharing[number], people, number in found.no_room))
            for number in sorted((*found.not_allowed, *found.no_room))
        ),
        heaviest=found.heaviest,
        heavier=frozenset(people[number].pk for number in found.heavier),
        whole=_whole(found, sharing, people),
    )


def _liking(piece: Piece, worker: Worker) -> int:
    has_it = piece.minder if piece.minder is not None else piece.meant_for
    return (
        _HOLDER * (piece.holder == worker.pk)
        + _BEFORE * (piece.before == worker.pk)
        + _HAS_IT * (has_it == worker.pk)
    )


def _why_nobody(piece: Piece, people: Iterable[Worker], no_room: bool) -> str:
    """Return why nobody can: no skill, nobody there, or no time left."""
    skilled = [one for one in people if one.has_skill(piece.skill)]
    if not skilled:
        skill = SKILLS[piece.skill].lower() if piece.skill else ""
        return f"nobody named {skill} as something they do" if skill else "nobody can do tasks here"
    if no_room:
        return f"it takes about {piece.minutes} minutes, and nobody who can has so many left"
    return "everybody who can is away on its days"


def _whole(found: Allocation, sharing: list[Piece], people: list[Worker]) -> str:
    """Return what the heaviest share is, beside whose, and why no division has a smaller one."""
    if not sharing or not any(who is not None for who in found.who):
        return ""
    heaviest = f"{_beside(found, people)} heaviest share is {found.heaviest} minutes"
    if found.gap:
        return f"{heaviest}; with more searching it could be {found.gap} minutes less at most."
    return f"{heaviest}; it cannot be smaller{_because(found, sharing, people)}."


def _beside(found: Allocation, people: list[Worker]) -> str:
    """Return who has more than anybody is given, and so gets nothing."""
    heavier = [(found.loads[number], str(people[number].member.person)) for number in found.heavier]
    if not heavier:
        return "The"
    if len(heavier) == 1:
        [(minutes, name)] = heavier
        return f"Beside {name}, who has {minutes} already, the"
    if len(heavier) > MOST_NAMED:
        return f"Beside {len(heavier)} people who have {min(heavier)[0]} or more already, the"
    names = _names(f"{name} with {minutes}" for minutes, name in heavier)
    return f"Beside {names} already, the"


def _because(found: Allocation, sharing: list[Piece], people: list[Worker]) -> str:
    if found.pinch is not None:
        return f", because {_one_piece(found, sharing[found.pinch].minutes)}"
    pinched = [people[number] for number in found.pinched]
    sharers = len(people) - len(found.heavier)
    if pinched and len(pinched) < sharers:
        names = _names(str(one.member.person) for one in pinched)
        if not found.confined:
            return f", because {names} {'has' if len(pinched) == 1 else 'have'} so much already"
        skill = _one_skill([sharing[number] for number in found.confined])
        if skill and len(pinched) > 1:
            return f", because only {names} can do what asks for {skill}"
        together = sum(found.loads[number] for number in found.pinched)
        much = "so much falls" if len(pinched) == 1 else f"{together} minutes fall"
        return f", because {much} to {names} alone"
    if pinched:
        return ": the work is shared as evenly as whole pieces allow"
    return ": no other way of giving out these pieces is more even"


def _one_piece(found: Allocation, minutes: int) -> str:
    """Return how one piece of work alone makes the heaviest share."""
    before = found.heaviest - minutes
    if not before:
        return f"one piece of work takes {minutes} minutes and one person does it"
    return f"one piece takes {minutes} minutes, and everybody who can has {before} or more already"


def _one_skill(confined: list[Piece]) -> str:
    """Return the skill that all of these pieces ask for, or ""."""
    skills = {piece.skill for piece in confined}
    return SKILLS[skills.pop()].lower() if len(skills) == 1 and "" not in skills else ""


def _names(names: Iterable[str]) -> str:
    listed = list(names)
    if len(listed) > MOST_NAMED:
        return f"{len(listed)} people"
    return " and ".join(filter(None, (", ".join(listed[:-1]), listed[-1])))


def share_words(week: Week, worker: Worker) -> str:
    """Return one person's share as it would be published, in one sentence without their name.

    "3 things, about 95 minutes; the only one for ladder work; away Thursday."
    """
    own = [piece for piece in week.pieces if piece.meant_for == worker.pk]
    minutes = loads((piece, worker.pk) for piece in own).get(worker.pk, 0)
    things = f"{len(own)} thing{'' if len(own) == 1 else 's'}"
    parts = [f"{things}, about {minutes} minutes" if own else "Nothing this week"]
    alone = _alone_for(week, own, worker)
    if alone:
        parts.append(f"the only one for {_names(alone)}")
    limit = worker.member.minutes_a_week
    if limit is not None and (own or limit == 0):
        parts.append(f"offers {limit} a week")
    away = sorted(day for day in worker.away if week.first_day <= day <= week.last_day)
    if away:
        parts.append(_away_words(away, week))
    return f"{'; '.join(parts)}."


def _alone_for(week: Week, own: list[Piece], worker: Worker) -> list[str]:
    """Return the skills of this person's work that nobody else has who is there."""
    there = [
        one
        for one in week.workers.values()
        if one.pk != worker.pk and not _is_away_throughout(one, week)
    ]
    skills = sorted({piece.skill for piece in own if piece.skill} & set(worker.member.skills))
    return [
        SKILLS[skill].lower() for skill in skills if not any(one.has_skill(skill) for one in there)
    ]


def _is_away_throughout(worker: Worker, week: Week) -> bool:
    days = (week.last_day - week.first_day).days + 1
    return len([day for day in worker.away if week.first_day <= day <= week.last_day]) == days


def _away_words(days: list[date], week: Week) -> str:
    if len(days) == (week.last_day - week.first_day).days + 1:
        return "away all week"
    if len(days) > 2 and (days[-1] - days[0]).days == len(days) - 1:
        return f"away {days[0]:%A} to {days[-1]:%A}"
    return f"away {_names(f'{day:%A}' for day in days)}"

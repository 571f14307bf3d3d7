"""What speaks against whom a piece of work is meant for: said beside the draft, never refused."""

from collections.abc import Collection
from datetime import date, timedelta

from lifecycle.care.skills import SKILLS
from lifecycle.records.nights.rota import Stretch
from lifecycle.records.work.week_work import Piece, Week, Worker


def doubt_about(piece: Piece, week: Week, then: dict[int, int]) -> str:
    """Return why the person of a draft may not be right for it, in a sentence, or "".

    ``then`` are everybody's minutes with all drafts.
    """
    if piece.draft is None or piece.draft.to_id not in week.workers:
        return ""
    worker = week.workers[piece.draft.to_id]
    doubts = [*_skill(piece, worker), *_away(piece, worker, week), *_minutes(worker, then)]
    return f"{worker.member.person} {'; '.join(doubts)}." if doubts else ""


def _skill(piece: Piece, worker: Worker) -> list[str]:
    able = worker.has_skill(piece.skill) or worker.pk in (piece.minder, piece.holder)
    return [] if able else [f"has not named {SKILLS[piece.skill].lower()}"]


def _away(piece: Piece, worker: Worker, week: Week) -> list[str]:
    if piece.days - worker.away:
        return []
    stretches = _stretches(worker.away)
    return [f"is away {', '.join(each.words(week.first_day) for each in stretches)}"]


def _stretches(days: Collection[date]) -> list[Stretch]:
    """Return days in order, those that follow one another as one stretch."""
    found: list[Stretch] = []
    for day in sorted(days):
        if found and day - found[-1].last_day == timedelta(1):
            found[-1] = Stretch(found[-1].first_day, day)
        else:
            found.append(Stretch(day, day))
    return found


def _minutes(worker: Worker, then: dict[int, int]) -> list[str]:
    limit, minutes = worker.member.minutes_a_week, then.get(worker.pk, 0)
    if limit is None or minutes <= limit:
        return []
    return [f"offers {limit} minutes a week and would have {minutes}"]

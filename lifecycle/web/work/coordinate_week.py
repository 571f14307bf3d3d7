"""What is wrong with the week's work as a garden shares it: for the Coordinate page."""

from collections import Counter
from collections.abc import Iterator
from datetime import timedelta

from lifecycle.records.work.week_work import Week
from lifecycle.web.words import ago, counted

MUCH, MUCH_MORE = 6, 3
"""Things a week that are much for one person, and how many more than anybody else's weigh."""

SILENT_AFTER = timedelta(days=14)
SILENT_NAMED = 3


def week_problems(week: Week) -> Iterator[str]:
    """Return a sentence a problem: drafts that wait, one who has too much, members not seen."""
    drafts = sum(len(piece.tasks) for piece in week.pieces if piece.draft is not None)
    if drafts:
        verb = "is" if drafts == 1 else "are"
        yield f"{counted(drafts, 'draft')} of this week’s work {verb} not published yet"
    things = Counter(piece.minder for piece in week.pieces if piece.minder is not None)
    overloaded = _overloaded(week, things)
    if overloaded:
        yield overloaded
    yield from _silent(week, things)


def _overloaded(week: Week, things: "Counter[int]") -> str:
    """Return who has much more than anybody else, or ""."""
    if len(week.workers) < 2 or not things:
        return ""
    (busiest, most), *others = things.most_common(2)
    second = others[0][1] if others else 0
    if most < MUCH or most - second < MUCH_MORE:
        return ""
    than = f"nobody else over {second}" if second else "nobody else any"
    return f"{week.workers[busiest].member.person} has {most} things this week, {than}"


def _silent(week: Week, things: "Counter[int]") -> Iterator[str]:
    """Return members with work this week who have not been here for a fortnight."""
    silent = [
        (worker.member.person, worker.member.person.last_seen_on, things[pk])
        for pk, worker in week.workers.items()
        if things[pk]
        and worker.member.person.last_seen_on is not None
        and worker.member.person.last_seen_on < week.first_day - SILENT_AFTER
    ]
    for person, seen, number in silent[:SILENT_NAMED]:
        assert seen is not None
        has = counted(number, "thing")
        yield f"{person} has {has} this week, and was last here {ago(seen, week.first_day)}"
    if len(silent) > SILENT_NAMED:
        more = len(silent) - SILENT_NAMED
        yield f"{counted(more, 'more member')} with work this week not seen for two weeks"

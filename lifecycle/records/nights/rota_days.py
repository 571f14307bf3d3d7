"""On which days of their turns people are there: turns without the days they are away."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import timedelta

from lifecycle.models import OnCallTurn
from lifecycle.records.nights.rota import Stretch
from lifecycle.records.work.away import Days

Away = Mapping[int, Sequence[Days]]
"""By person the stretches of days on which they are away, as ``away_on`` returns them."""


def days_served(turns: Iterable[OnCallTurn], away: Away) -> list[Stretch]:
    """Return the days of turns on which their people are there, for ``gaps``."""
    return [stretch for turn in turns for stretch in _served(turn, away.get(turn.person_id, ()))]


def days_away(turn: OnCallTurn, within: Stretch, away: Away) -> list[Stretch]:
    """Return the days of a turn ``within`` which its person is away."""
    first = max(turn.first_day, within.first_day)
    last = min(turn.last_day, within.last_day)
    found = (
        Stretch(max(begins, first), min(ends, last))
        for begins, ends in sorted(away.get(turn.person_id, ()))
    )
    return [stretch for stretch in found if stretch.first_day <= stretch.last_day]


def _served(turn: OnCallTurn, away: Sequence[Days]) -> Iterator[Stretch]:
    first = turn.first_day
    for begins, ends in sorted(away):
        if ends < first or begins > turn.last_day:
            continue
        if begins > first:
            yield Stretch(first, begins - timedelta(1))
        first = ends + timedelta(1)
    if first <= turn.last_day:
        yield Stretch(first, turn.last_day)

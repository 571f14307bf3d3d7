"""Short ways to write down the entries of a life."""

from datetime import UTC, date, datetime, timedelta
from itertools import count

from lifecycle.life.fold import Fact, Life, fold
from lifecycle.life.kinds import Kind
from lifecycle.life.phases import Phase

BED, ROOM = 1, 2
_ids = count(1)


def at(day: date, minute: int = 0) -> datetime:
    return datetime(day.year, day.month, day.day, 9, tzinfo=UTC) + timedelta(minutes=minute)


def fact(kind: Kind, day: date, *, inside: bool | None = None, pk: int = 0, **more) -> Fact:
    """One entry; ``inside`` gives it a place, with a roof or without one."""
    if inside is not None:
        more |= {"place": ROOM if inside else BED, "sheltered": inside}
    return Fact(pk or next(_ids), kind, day, at(day), **more)


def diary(*rows: tuple) -> list[Fact]:
    """Entries of one year from (kind, month, day, extras) rows, in the order given."""
    facts = []
    for kind, month, day, *extras in rows:
        more = extras[0] if extras else {}
        facts.append(fact(kind, date(more.pop("year", 2026), month, day), **more))
    return facts


def standing(phase: Phase, *, inside: bool, number: int = 1) -> list[Fact]:
    """A plant taken over in ``phase``, under a roof or in the open."""
    day = date(2026, 1, 1)
    if phase is not Phase.ENDED:
        return [fact(Kind.INHERITED, day, inside=inside, quantity=number, choice=phase.value)]
    return [
        *standing(Phase.GROWING, inside=inside, number=number),
        fact(Kind.ENDED, day, choice="died"),
    ]


def life_of(facts: list[Fact], subject: str = "plant") -> Life:
    life = fold(subject, facts)
    assert life is not None
    return life

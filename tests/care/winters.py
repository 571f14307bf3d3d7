"""One winter at the typed site, for the tests of its parts.

Typed: last freeze 20 April (one year in ten by 6 May), first freeze 14 October (one year in ten by
28 September), nights of 55 F from 25 May; lifting falls best on 27 September.
"""

from datetime import date

from lifecycle.care.seasons import Season, season
from lifecycle.care.steps import Step
from lifecycle.life.fold import Fact
from lifecycle.life.kinds import Kind
from tests.care.sites import typed_site
from tests.care.summers import young
from tests.life.facts import fact

TYPED = typed_site()
LIFT = date(2026, 9, 27)
QUARTERS = date(2026, 9, 28)
FREEZE = date(2026, 9, 28)
NO_FROST = typed_site(half_zone="11a", last_freeze="", first_freeze="", warm_from="", cool_from="")


def year(number: int = 2026) -> Season:
    return season(TYPED, number)


def edges(step: Step) -> tuple[str, str, str]:
    """The window as month-day."""
    window = step.window
    return tuple(f"{day:%m-%d}" for day in (window.earliest, window.best, window.latest))


def lifted() -> list[Fact]:
    return [*young(), fact(Kind.LIFTED, LIFT)]


def inside(route: str = "resting") -> list[Fact]:
    return [*lifted(), fact(Kind.WINTER_QUARTERS, QUARTERS, inside=True, choice=route)]


def woken(day: date = date(2027, 4, 12)) -> list[Fact]:
    return [*inside(), fact(Kind.WOKEN, day)]


def out(*more: tuple) -> list[Fact]:
    """A plant set out in 2026, and (kind, date, choice) entries after it."""
    return [*young(), *(fact(kind, day, choice="".join(choice)) for kind, day, *choice in more)]

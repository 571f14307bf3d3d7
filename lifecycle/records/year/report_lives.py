"""Figures of plants and of their winters, read from entries."""

from lifecycle.life.kinds import RULES, Kind
from lifecycle.life.phases import ROUTE_LABELS, Route
from lifecycle.life.wintering import Outcome
from lifecycle.records.year.report_figure import ENTRIES, PLANTS, Figure, Section, YearFacts, listed
from lifecycle.records.year.report_plants import BEGINNINGS

ROUTES = (Route.IN_GROUND, Route.RESTING, Route.GROWING_ON)


def plants(facts: YearFacts) -> Section:
    """Return the figures of plants alive, added and ended."""
    start = [life.plant for life in facts.lives if life.alive_before(facts.first)]
    end = [
        life.plant
        for life in facts.lives
        if life.began_on <= facts.last and (life.ended_on is None or life.ended_on > facts.last)
    ]
    return Section(
        "plants",
        "Plants",
        (
            listed(
                "plants-start",
                "Alive at the start",
                "Plants begun before the year and not ended when it began.",
                PLANTS,
                start,
            ),
            *(_added(facts, kind) for kind in BEGINNINGS),
            *(_ended(facts, how, words) for how, words in RULES[Kind.ENDED].choices.items()),
            listed(
                "plants-end",
                "Alive at the end",
                "Plants not ended when the year was over; while it runs, today.",
                PLANTS,
                end,
            ),
        ),
        "One label counts as one plant, a pair under one label too.",
    )


_ADDED = {
    Kind.RAISED: "Added: potted up from a sowing",
    Kind.INHERITED: "Added: taken over",
    Kind.STRUCK_CUTTING: "Added: struck as cuttings",
    Kind.SPLIT_OFF: "Added: split off from a pair",
}


def _added(facts: YearFacts, kind: Kind) -> Figure:
    return listed(
        f"added-{kind}",
        _ADDED[kind],
        f"Plants whose record begins in the year with “{RULES[kind].label}”.",
        ENTRIES,
        [
            life.began_entry
            for life in facts.lives
            if life.began_as is kind and facts.within(life.began_on)
        ],
    )


def _ended(facts: YearFacts, how: str, words: str) -> Figure:
    return listed(
        f"ended-{how}",
        f"Ended: {words.lower()}",
        f"Plants with an entry “Ended”, {words.lower()}, dated in the year.",
        ENTRIES,
        [
            life.ended_entry
            for life in facts.lives
            if life.ended_how == how and facts.within(life.ended_on)
        ],
    )


def winters(facts: YearFacts) -> Section:
    """Return how plants came through the winters that ended in the year, by route."""
    over: dict[tuple[Route, Outcome], list[int]] = {}
    for life in facts.lives:
        for winter in life.winters:
            if winter.outcome is None or winter.entry is None or not facts.within(winter.ended_on):
                continue
            over.setdefault((winter.route, winter.outcome), []).append(winter.entry)
    figures = [figure for route in ROUTES for figure in _by_route(route, over)]
    let_go = [
        entry
        for (_, outcome), entries in over.items()
        if outcome is Outcome.LET_GO
        for entry in entries
    ]
    figures.append(
        listed(
            "winter-let-go",
            "Let go before it was known",
            "Plants removed or given away between going into the winter and growing anew.",
            ENTRIES,
            let_go,
        )
    )
    return Section(
        "winter",
        "Through the winter",
        tuple(figures),
        "A winter begins when a plant goes into winter quarters, to rest where it stands, or is "
        "kept in the ground by decision, and counts in the year in which it ends; the number "
        "after “of” is of those of the route that lived or died.",
    )


def _by_route(route: Route, over: dict[tuple[Route, Outcome], list[int]]) -> list[Figure]:
    lived = over.get((route, Outcome.LIVED), [])
    died = over.get((route, Outcome.DIED), [])
    both = (f"winter-{route}-lived", f"winter-{route}-died")
    name = ROUTE_LABELS[route]
    return [
        listed(
            both[0],
            f"{name}: lived",
            "Plants that then grew anew or were set out again."
            if route is not Route.GROWING_ON
            else "Plants that were then hardened or set out again.",
            ENTRIES,
            lived,
            both,
        ),
        listed(
            both[1],
            f"{name}: died",
            "Plants that ended as died before that.",
            ENTRIES,
            died,
            both,
        ),
    ]

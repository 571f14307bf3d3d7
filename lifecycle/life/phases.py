"""Where a sowing or a plant stands in its life, and how it spends the winter."""

from enum import StrEnum


class Phase(StrEnum):
    """A stage of life, derived from the entries and never set by hand."""

    PLANNED = "planned"
    SOWN = "sown"
    SEEDLING = "seedling"
    HARDENING = "hardening"
    ESTABLISHING = "establishing"
    GROWING = "growing"
    BEARING = "bearing"
    RESTING = "resting"
    WAKING = "waking"
    ENDED = "ended"


class Route(StrEnum):
    """How a plant spends the winter."""

    IN_GROUND = "in_ground"
    RESTING = "resting"
    GROWING_ON = "growing_on"
    CUTTING = "cutting"
    LET_GO = "let_go"


PHASE_LABELS: dict[Phase, str] = {
    Phase.PLANNED: "Planned",
    Phase.SOWN: "Sown",
    Phase.SEEDLING: "Seedling",
    Phase.HARDENING: "Hardening",
    Phase.ESTABLISHING: "Establishing",
    Phase.GROWING: "Growing",
    Phase.BEARING: "Bearing",
    Phase.RESTING: "Resting",
    Phase.WAKING: "Waking",
    Phase.ENDED: "Ended",
}

ROUTE_LABELS: dict[Route, str] = {
    Route.IN_GROUND: "In the ground",
    Route.RESTING: "Lifted and resting",
    Route.GROWING_ON: "Lifted and growing on",
    Route.CUTTING: "As a cutting",
    Route.LET_GO: "Let go, seed kept",
}

OUTSIDE: frozenset[Phase] = frozenset({Phase.ESTABLISHING, Phase.GROWING, Phase.BEARING})
"""Phases of a plant that stands where it crops, unless it has been lifted."""

PLANT_PHASES: tuple[Phase, ...] = (
    Phase.SEEDLING,
    Phase.HARDENING,
    Phase.ESTABLISHING,
    Phase.GROWING,
    Phase.BEARING,
    Phase.RESTING,
    Phase.WAKING,
)
"""Phases in which a living plant may be taken over with its history unknown."""

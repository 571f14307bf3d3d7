"""A bed as the rules see it: what it is made of, and what stands in it."""

from dataclasses import dataclass
from datetime import date

from lifecycle.agronomy.spacing import Spacing
from lifecycle.care.policy import Policy
from lifecycle.handbook import Crop, fact
from lifecycle.life.kinds import Kind


@dataclass(frozen=True, slots=True)
class Bed:
    """A bed's extent and ground. None and "": nobody has said. ``wire``: roots end at its depth."""

    length_m: float | None = None
    width_m: float | None = None
    depth_cm: float | None = None
    soil: str = ""
    mulched: bool = False
    wire: bool = False

    @property
    def area_m2(self) -> float | None:
        """Length times width, or None while one of them is not known."""
        if self.length_m is None or self.width_m is None:
            return None
        return self.length_m * self.width_m


@dataclass(frozen=True, slots=True)
class Standing:
    """Plants of one crop in a bed: since when they grow there, and how many labels they carry.

    A pair raised together carries one label and takes one plant's room.
    """

    crop: Crop
    since: date
    count: int = 1
    resting: bool = False


def spacing_of(crop: Crop, policy: Policy) -> Spacing | None:
    """Return the distance a crop's plants keep, or None where none is published.

    Tall tomatoes stand by how they are trained; rows without a distance of their own are as
    far apart as plants in the row.
    """
    caged = crop.tall and policy.of("tomato_training") == "cage"
    in_row = fact("support.cage_apart") if caged else crop.find("spacing")
    if in_row is None:
        return None
    rows = crop.find("row_spacing")
    between = in_row if caged or rows is None else rows
    return Spacing(in_row.si / 100, between.si / 100)


def growing_since(turns: list[tuple[Kind, date]], began: date) -> date:
    """Return the day from which a plant's stages count: planted, or come back after a rest.

    ``turns`` are its plantings, rests, wakings and first growths, in order. First growth
    counts where it ended a rest; on a plant just set out it is no new beginning.
    """
    since, rested = began, False
    for kind, day in turns:
        if kind is Kind.GONE_TO_REST:
            rested = True
        elif kind is not Kind.FIRST_GROWTH or rested:
            since, rested = day, False
    return since

"""The stage a crop has come to by its heat units, with the spread that published totals carry."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise


@dataclass(frozen=True, slots=True)
class HeatStage:
    """A stage, the heat units since the starting event at which it begins, and their +/- spread."""

    name: str
    units: float
    spread: float


@dataclass(frozen=True, slots=True)
class StageReached:
    """Where a total stands among the stages; None before the first or after the last.

    `reached` and `coming` go by the published means. `surely` is the last stage whose late end
    (units + spread) has passed, `perhaps` the last whose early end (units - spread) has.
    """

    reached: HeatStage | None
    coming: HeatStage | None
    surely: HeatStage | None
    perhaps: HeatStage | None


def stage_reached(total: float, stages: Sequence[HeatStage]) -> StageReached:
    """Place a total of heat units among `stages`; a stage begins at exactly its units.

    The total must come from the method, base, ceiling and starting event of the stages.
    ValueError when the total is negative or missing, or the stages are none or not in order.
    """
    if not total >= 0:
        raise ValueError(f"A total of heat units is 0 or more, not {total:g}; give such a total.")
    if not stages:
        raise ValueError("There are no stages to place the heat units among; give at least one.")
    for before, after in pairwise(stages):
        if after.units <= before.units:
            raise ValueError(
                f"The stage {after.name!r} does not come after {before.name!r}; give the stages "
                "in rising order of heat units."
            )
    if any(not stage.spread >= 0 for stage in stages):
        raise ValueError("The spread of a stage is negative; give 0 or more heat units.")
    return StageReached(
        reached=_last([stage for stage in stages if stage.units <= total]),
        coming=next((stage for stage in stages if stage.units > total), None),
        surely=_last([stage for stage in stages if stage.units + stage.spread <= total]),
        perhaps=_last([stage for stage in stages if stage.units - stage.spread <= total]),
    )


def _last(stages: list[HeatStage]) -> HeatStage | None:
    return stages[-1] if stages else None

"""Keep the fertilizer materials a garden has of its own, by the analysis on the label."""

from django.db import IntegrityError, transaction

from lifecycle.agronomy.bounds import number_within
from lifecycle.agronomy.nutrients import Analysis
from lifecycle.models import GardenMaterial, Membership
from lifecycle.permissions import require
from lifecycle.records.crops.beginnings import plain_name
from lifecycle.records.refusal import Refused

LIGHTEST, HEAVIEST = 0.05, 3.0
"""Bulk densities in g per ml between which every dry or liquid feed lies."""


def add_material(
    actor: Membership, *, name: str, n: float, p2o5: float, k2o: float, density: float | None
) -> GardenMaterial:
    """Add a material by the three numbers of its label, in percent; density in g per ml.

    Raises Refused for numbers no label carries, such as three that add to over 100, and for a
    name that is taken.
    """
    require(actor, "material.add")
    clean = plain_name(name, "material")
    _check(n, p2o5, k2o, density)
    try:
        with transaction.atomic():
            return GardenMaterial.objects.create(
                garden_id=actor.garden_id,
                name=clean,
                n=n,
                p2o5=p2o5,
                k2o=k2o,
                density=density,
                by=actor.person,
            )
    except IntegrityError:
        raise Refused(
            f"There is a material “{clean}” already. Choose another name.", "name"
        ) from None


def _check(n: float, p2o5: float, k2o: float, density: float | None) -> None:
    try:
        analysis = Analysis(n, p2o5, k2o)
    except ValueError as problem:
        raise Refused(str(problem), "n") from None
    if analysis.n + analysis.p2o5 + analysis.k2o == 0:
        raise Refused("The analysis 0-0-0 feeds nothing. Give the three numbers of the label.", "n")
    if density is not None:
        try:
            number_within("The bulk density", density, LIGHTEST, HEAVIEST, "g per ml")
        except ValueError as problem:
            raise Refused(str(problem), "density") from None

"""A garden's own values for a variety, beside the published ones of its crop."""

from collections.abc import Mapping

from django.db import transaction

from lifecycle.handbook import CROPS
from lifecycle.handbook.crops import BOUNDS
from lifecycle.models import Membership, Variety
from lifecycle.permissions import require
from lifecycle.records.crops import ledger
from lifecycle.records.refusal import Refused


def offered(variety: Variety) -> list[str]:
    """Return the values a garden may set for a variety, by the handbook's names.

    A partner in the rotation is not set out by its nights and the like: there only what is
    published can be overruled.
    """
    crop = CROPS[variety.species]
    return [name for name in BOUNDS if crop.group != "partner" or crop.find(name) is not None]


def set_values(actor: Membership, variety: Variety, values: Mapping[str, float | None]) -> int:
    """Set a variety's own values in SI; None returns one to the published value.

    What ``values`` does not name stays as it is. Returns how many plants and sowings will
    be planned anew. Raises Refused for a value no such plant can have.
    """
    require(actor, "variety.edit")
    if variety.garden_id != actor.garden_id:
        raise Refused("That variety does not belong to this garden.")
    for name, value in values.items():
        _check(variety, name, value)
    with transaction.atomic():
        current = Variety.objects.select_for_update().get(pk=variety.pk)
        kept = {name: value for name, value in current.overrides.items() if name not in values}
        given = {name: value for name, value in values.items() if value is not None}
        wanted = dict(sorted({**kept, **given}.items()))
        if wanted == current.overrides:
            return 0
        _adapted(variety, wanted)
        current.overrides = wanted
        current.save(update_fields=["overrides"])
        return ledger.plan_again(variety=current)


def _check(variety: Variety, name: str, value: float | None) -> None:
    if name not in offered(variety):
        raise Refused("That value is not one a garden can set for this crop.")
    if value is not None:
        _adapted(variety, {name: value}, name)


def _adapted(variety: Variety, values: Mapping[str, float], field: str = "") -> None:
    """Raise Refused with the handbook's sentence where values lie out of bounds."""
    try:
        CROPS[variety.species].adapted(values)
    except ValueError as problem:
        raise Refused(str(problem), field) from None

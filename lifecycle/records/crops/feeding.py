"""Feed plants with a named material: the grams and the material stand in the entry."""

from collections.abc import Mapping
from datetime import date, datetime
from uuid import UUID

from lifecycle.handbook import MATERIALS
from lifecycle.life.kinds import RULES, Kind
from lifecycle.models import GardenMaterial, Membership
from lifecycle.models.materials import OWN
from lifecycle.models.plants import Projection
from lifecycle.records.crops.beginnings import part_of
from lifecycle.records.crops.drafts import Draft
from lifecycle.records.crops.entries import Logged, log_for_several
from lifecycle.records.refusal import Refused


def feed(
    actor: Membership,
    grams: Mapping[Projection, float],
    *,
    material: str,
    happened_on: date,
    note: str,
    uuid: UUID,
    now: datetime,
) -> list[Logged]:
    """Log “Fed” with ``grams`` of one material for each record: all of them, or none.

    ``material`` is a key of the handbook or that of a garden's own. The same ``uuid`` twice
    makes the entries once. Raises Refused for a material the garden does not know.
    """
    _known(actor, material)
    if not grams:
        raise Refused("Tick at least one plant to feed.")
    limit = RULES[Kind.FED].quantity
    assert limit is not None
    drafts = []
    for record, amount in grams.items():
        if amount < limit.low:
            raise Refused(
                f"That is less than {limit.low:g} g for {record}. Give a larger dose.", "grams"
            )
        drafts.append(
            (
                record,
                Draft(
                    Kind.FED,
                    happened_on,
                    part_of(uuid, f"{record.code} {Kind.FED}"),
                    quantity=round(amount, 1),
                    material=material,
                    note=note,
                ),
            )
        )
    return log_for_several(actor, drafts, now=now)


def _known(actor: Membership, material: str) -> None:
    if material in MATERIALS:
        return
    pk = material.removeprefix(OWN)
    own = material.startswith(OWN) and pk.isascii() and pk.isdigit() and len(pk) < 12
    if not own or not GardenMaterial.objects.filter(garden_id=actor.garden_id, pk=pk).exists():
        raise Refused("Choose the material from the list.", "material")

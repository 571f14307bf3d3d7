"""The covers a site has for frost nights, and where they are kept."""

import math

from lifecycle.care.frost_night import COVERS
from lifecycle.models import GardenCover, Membership, Site
from lifecycle.permissions import require
from lifecycle.records.refusal import Refused

MOST_PIECES = 1000
SMALLEST_M2, LARGEST_M2 = 0.01, 1000.0
KEPT_LENGTH = 80


def add_cover(
    actor: Membership, site: Site, *, protection: str, pieces: int, area_m2: float, kept_in: str
) -> GardenCover:
    """Put covers of one kind on a site's list. Raises Refused for what cannot be."""
    require(actor, "cover.edit")
    if site.garden_id != actor.garden_id:
        raise Refused("That site does not belong to this garden.")
    kept_in = _checked(protection, pieces, area_m2, kept_in)
    return GardenCover.objects.create(
        garden_id=site.garden_id,
        site=site,
        protection=protection,
        pieces=pieces,
        area_m2=area_m2,
        kept_in=kept_in,
    )


def change_cover(
    actor: Membership,
    cover: GardenCover,
    *,
    protection: str,
    pieces: int,
    area_m2: float,
    kept_in: str,
) -> GardenCover:
    """Change covers of one kind: how many, how large, where they are kept."""
    require(actor, "cover.edit")
    if cover.garden_id != actor.garden_id:
        raise Refused("Those covers do not belong to this garden.")
    cover.kept_in = _checked(protection, pieces, area_m2, kept_in)
    cover.protection, cover.pieces, cover.area_m2 = protection, pieces, area_m2
    cover.save(update_fields=["protection", "pieces", "area_m2", "kept_in"])
    return cover


def remove_cover(actor: Membership, cover: GardenCover) -> None:
    """Take covers off the list: they are worn out or gone."""
    require(actor, "cover.edit")
    if cover.garden_id != actor.garden_id:
        raise Refused("Those covers do not belong to this garden.")
    cover.delete()


def _checked(protection: str, pieces: int, area_m2: float, kept_in: str) -> str:
    if protection not in COVERS:
        raise Refused("Choose the kind of cover from the list.", "protection")
    if not 1 <= pieces <= MOST_PIECES:
        raise Refused(f"Pieces: give a whole number from 1 to {MOST_PIECES}.", "pieces")
    if not (math.isfinite(area_m2) and SMALLEST_M2 <= area_m2 <= LARGEST_M2):
        raise Refused(
            f"One piece covers: give {SMALLEST_M2:g} to {LARGEST_M2:g} square metres.", "area_m2"
        )
    kept_in = " ".join(kept_in.replace("\x00", " ").split())
    if len(kept_in) > KEPT_LENGTH:
        raise Refused(f"Where they are kept: keep it to {KEPT_LENGTH} characters.", "kept_in")
    return kept_in

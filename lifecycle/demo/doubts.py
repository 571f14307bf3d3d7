"""Labels in doubt: two plants that may have swapped, and one label that has faded."""

import random
from datetime import datetime, timedelta
from uuid import UUID

from lifecycle.life.phases import Phase
from lifecycle.models import Membership, Plant, Site
from lifecycle.records.crops import identity

DAYS_AGO = 5


def doubt_some(actor: Membership, site: Site, now: datetime) -> None:
    """Doubt two living plants of different varieties at a site, and the label of a third."""
    day = site.local_day(now) - timedelta(DAYS_AGO)
    living = Plant.objects.filter(site=site, began_on__lt=day).exclude(phase=Phase.ENDED)
    one, *others = living.order_by("pk")
    other = next(each for each in others if each.variety_id != one.variety_id)
    faded = next(each for each in others if each.pk != other.pk)
    rng = random.Random(site.pk)  # nosec B311 # invented data, the same each time
    for plant, why, twin, note in (
        (one, "swapped", other, "Invented: both labels lay on the bench."),
        (faded, "faded", None, "Invented: the ink is gone."),
    ):
        identity.doubt(
            actor,
            plant,
            why=why,
            other=twin,
            happened_on=day,
            note=note,
            uuid=UUID(int=rng.getrandbits(128), version=4),
            now=now,
        )

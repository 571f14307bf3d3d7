"""A chore of a plant stays with the plant: at another site it is planned there."""

from django.db import transaction
from django.db.models import Exists, F, OuterRef, Q

from lifecycle.models import Chore


def follow_plants() -> int:
    """Bring chores to the site to which their plant was moved; returns how many.

    Their open tasks follow when the site is planned. A chore of the starter list that the other
    site has already stays where it was: a site has each of them once.
    """
    there = Chore.objects.filter(
        ~Q(starter=""),
        site=OuterRef("plant__site"),
        starter=OuterRef("starter"),
        ended_at__isnull=True,
    )
    strays = Chore.objects.filter(
        ~Exists(there), plant__isnull=False, ended_at__isnull=True
    ).exclude(site=F("plant__site"))
    if not strays.exists():
        return 0
    with transaction.atomic():
        locked = list(strays.select_for_update(of=("self",)).select_related("plant").order_by("pk"))
        for chore in locked:
            assert chore.plant is not None
            chore.site_id = chore.plant.site_id
            chore.save(update_fields=["site"])
    return len(locked)

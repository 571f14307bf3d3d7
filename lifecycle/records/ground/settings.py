"""What a site chooses where sources disagree."""

from datetime import datetime

from django.db import transaction

from lifecycle.care.policy import SETTINGS, Policy, policy_of
from lifecycle.models import Membership, Site, SiteSetting
from lifecycle.permissions import require
from lifecycle.records.crops import ledger
from lifecycle.records.refusal import Refused


def choose(actor: Membership, site: Site, key: str, value: str, *, now: datetime) -> int:
    """Set one choice of a site; returns how many plants and sowings will be planned anew.

    The choice in force chosen again changes nothing. Raises Refused for a setting or a
    choice that is not offered.
    """
    require(actor, "site.edit")
    if site.garden_id != actor.garden_id:
        raise Refused("That site does not belong to this garden.")
    if key not in SETTINGS:
        raise Refused("There is no such setting. Choose one from the page.")
    try:
        SETTINGS[key].choice(value)
    except ValueError as problem:
        raise Refused(str(problem), key) from None
    with transaction.atomic():
        Site.objects.select_for_update().get(pk=site.pk)
        if policy_in_force(site).of(key) == value:
            return 0
        SiteSetting.objects.update_or_create(
            site=site,
            key=key,
            defaults={
                "garden_id": site.garden_id,
                "value": value,
                "by": actor.person,
                "at": now,
            },
        )
        return ledger.plan_again(site=site) if SETTINGS[key].plans else 0


def policy_in_force(site: Site) -> Policy:
    """Return the choices of a site; one that is no longer offered stands at its default."""
    rows = SiteSetting.objects.filter(site=site).values_list("key", "value")
    return policy_of({key: value for key, value in rows if _offered(key, value)})


def _offered(key: str, value: str) -> bool:
    return key in SETTINGS and any(choice.value == value for choice in SETTINGS[key].choices)

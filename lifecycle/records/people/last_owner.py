"""Whose going would leave other people's garden without an owner."""

from lifecycle.models import Membership, Role


def is_last_owner(member: Membership) -> bool:
    """Return whether others belong to the member's garden and only the member owns it."""
    if member.role != Role.OWNER:
        return False
    others = Membership.objects.filter(garden=member.garden_id, left_on__isnull=True)
    roles = set(others.exclude(pk=member.pk).values_list("role", flat=True))
    return bool(roles) and Role.OWNER not in roles

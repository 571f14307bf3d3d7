"""Who left lately, what they can still take back, and what nobody has since."""

from datetime import datetime, timedelta

from django.db.models import Exists, OuterRef, Q

from lifecycle.models import AuditNote, BedHolding, Membership, Person
from lifecycle.records.people.belongings import Group, groups_of

LATELY = timedelta(days=2)


def open_returns(person: Person, now: datetime) -> list[Membership]:
    """Return the memberships that ``person`` left and can still take up again."""
    rows = Membership.objects.filter(
        person=person, left_on__isnull=False, come_back_by__gt=now, name_gone_at__isnull=True
    ).select_related("garden")
    here = Membership.objects.filter(person=person, left_on__isnull=True).values("garden")
    return list(rows.exclude(garden__in=here).order_by("garden__name", "pk"))


def left_lately(now: datetime) -> list[Membership]:
    """Return who left and can still come back, and who was taken out lately, in every garden."""
    taken_out = AuditNote.objects.filter(
        garden=OuterRef("garden"), about=OuterRef("person"), act="removed", at__gt=now - LATELY
    )
    later = Membership.objects.filter(
        garden=OuterRef("garden"), person=OuterRef("person"), pk__gt=OuterRef("pk")
    )
    rows = Membership.objects.filter(
        Q(come_back_by__gt=now) | Q(Exists(taken_out), come_back_by__isnull=True),
        ~Exists(later),
        left_on__isnull=False,
    )
    return list(rows.select_related("garden", "person").order_by("pk"))


def unheld_groups(member: Membership) -> list[Group]:
    """Return what somebody who left had, and nobody has yet; a plot that nobody holds counts."""
    groups = groups_of(member.garden_id, member.person)
    ended = BedHolding.objects.filter(
        garden=member.garden_id, person=member.person, until__gte=member.left_on
    ).select_related("place__site")
    taken = set(
        BedHolding.objects.filter(garden=member.garden_id, until__isnull=True).values_list(
            "place", flat=True
        )
    )
    by_key = {group.key: group for group in groups}
    for holding in ended:
        if holding.place_id not in taken:
            by_key.setdefault(holding.place_id, Group(holding.place)).holds = True
    return list(by_key.values())

"""What may be chosen: only places, people and sites of the reader's own garden."""

from collections.abc import Iterable
from typing import Any

from django import forms
from django.db.models import QuerySet

from lifecycle.care.bed_rules import NO_RULES, in_brackets
from lifecycle.handbook import CROPS
from lifecycle.models import Membership, Person, Place, PlaceKind, Site
from lifecycle.records.ground.bed_rules import as_rules
from lifecycle.records.work.minding import WORKING_ROLES
from lifecycle.web.door import rows

SHELTERED = [kind for kind in PlaceKind if kind.sheltered]


class PlaceChoice(forms.ModelChoiceField):  # type: ignore[type-arg]
    """A place of the garden; ``sheltered`` narrows to those with or without a roof."""

    def __init__(self, member: Membership, *, sheltered: bool | None = None, **kwargs: Any) -> None:
        places = (
            rows(Place, member).select_related("site").order_by("site", "position", "name", "pk")
        )
        if sheltered is not None:
            wanted = {"kind__in": SHELTERED}
            places = places.filter(**wanted) if sheltered else places.exclude(**wanted)
        kwargs.setdefault("label", "Place")
        kwargs.setdefault("empty_label", "Choose a place")
        super().__init__(places, **kwargs)

    def label_from_instance(self, obj: Any) -> str:
        """Return the place with its site: two sites may both have a first bed.

        A bed with rules that end a season says so where somebody is about to plant in it.
        """
        rules = NO_RULES if obj.in_pots else as_rules(obj.rules)
        return f"{obj.name}, {obj.site.name}{in_brackets(rules)}"


def member_choice(
    member: Membership, label: str, **kwargs: Any
) -> "forms.ModelChoiceField[Person]":
    """Return a field to choose somebody who belongs to the garden today."""
    return forms.ModelChoiceField(people_of(member), label=label, **kwargs)


def people_of(member: Membership) -> QuerySet[Person]:
    """Return the people who belong to the garden today."""
    return Person.objects.filter(
        memberships__garden_id=member.garden_id, memberships__left_on__isnull=True
    ).order_by("name", "pk")


def workers_of(member: Membership, roles: Iterable[str] = WORKING_ROLES) -> QuerySet[Person]:
    """Return the people of the garden who may do tasks today, or who have one of ``roles``.

    One filter with all conditions: a second one over the memberships would look at those of
    other gardens too.
    """
    return Person.objects.filter(
        memberships__garden_id=member.garden_id,
        memberships__left_on__isnull=True,
        memberships__role__in=roles,
        is_active=True,
    ).order_by("name", "pk")


def site_choice(member: Membership) -> "forms.ModelChoiceField[Site]":
    """Return a field to choose a site of the garden."""
    return forms.ModelChoiceField(rows(Site, member).order_by("pk"), label="Site", empty_label=None)


def species_choice() -> forms.ChoiceField:
    """Return a field to choose the species, by the crops of the handbook."""
    return forms.ChoiceField(
        label="Species", choices=[(key, crop.label) for key, crop in CROPS.items()]
    )

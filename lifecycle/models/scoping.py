"""Every row belongs to a garden, and every list starts from what a person may see."""

from typing import TYPE_CHECKING, Self, TypeVar

from django.db import models
from django.db.models import Exists, OuterRef

if TYPE_CHECKING:
    from lifecycle.models.people import Person


_Row = TypeVar("_Row", bound=models.Model)


class OwnedQuerySet(models.QuerySet[_Row]):
    """Rows owned by a garden."""

    def visible_to(self, person: "Person") -> Self:
        """Narrow to gardens in which ``person`` is a member today.

        One EXISTS with both conditions: two chained filters over the memberships would
        join twice and widen what is seen.
        """
        memberships = self.model._meta.apps.get_model("lifecycle", "Membership")
        mine = memberships.objects.filter(
            garden=OuterRef("garden_id"), person=person, left_on__isnull=True
        )
        return self.filter(Exists(mine))


class GardenRow(models.Model):
    """Base of everything a garden owns."""

    garden = models.ForeignKey("lifecycle.Garden", on_delete=models.PROTECT, related_name="+")

    objects = OwnedQuerySet.as_manager()

    class Meta:
        abstract = True

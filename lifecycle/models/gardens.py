"""A garden is a community; a membership says what one person may do in it."""

from typing import TYPE_CHECKING

from django.db import models
from django.db.models import Q

from lifecycle.models.scoping import GardenRow

if TYPE_CHECKING:
    from lifecycle.models.people import Person


class GardenQuerySet(models.QuerySet["Garden"]):
    """Gardens."""

    def visible_to(self, person: "Person") -> "GardenQuerySet":
        """Narrow to the gardens ``person`` belongs to today."""
        return self.filter(
            pk__in=Membership.objects.filter(person=person, left_on__isnull=True).values("garden")
        )


class Garden(models.Model):
    """A community with its members and sites."""

    name = models.CharField(max_length=80)
    slug = models.SlugField(max_length=60, unique=True)
    invented = models.BooleanField(
        default=False, help_text="A demonstration garden: people, plants and weather are made up."
    )
    made_at = models.DateTimeField(auto_now_add=True)

    objects = GardenQuerySet.as_manager()

    def __str__(self) -> str:
        return self.name


class Role(models.TextChoices):
    """What a member may do; see ``lifecycle.permissions``."""

    MEMBER = "member", "Member"
    COORDINATOR = "coordinator", "Coordinator"
    COMMITTEE = "committee", "Committee"
    OWNER = "owner", "Owner"


class Membership(GardenRow):
    """One person in one garden; leaving keeps the row and dates it."""

    garden = models.ForeignKey(Garden, on_delete=models.PROTECT, related_name="memberships")
    person = models.ForeignKey(
        "lifecycle.Person", on_delete=models.PROTECT, related_name="memberships"
    )
    role = models.CharField(max_length=12, choices=Role, default=Role.MEMBER)
    joined_on = models.DateField()
    left_on = models.DateField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["garden", "person"],
                condition=Q(left_on__isnull=True),
                name="membership_once_at_a_time",
            ),
            models.CheckConstraint(condition=Q(role__in=Role.values), name="membership_role_known"),
        ]
        indexes = [models.Index(fields=["person", "left_on"], name="membership_person")]

    def __str__(self) -> str:
        return f"{self.person} in {self.garden}"

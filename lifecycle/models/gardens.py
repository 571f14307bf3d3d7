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


class Joining(models.TextChoices):
    """How somebody becomes a member."""

    INVITED = "invited", "By invitation only"
    WAITING = "waiting", "The garden’s link leads to the waiting list"
    OPEN = "open", "Anyone with the garden’s link can join"


class Garden(models.Model):
    """A community with its members and sites.

    The secret of its join link is worked out from ``join_nonce`` and stands nowhere; None: there
    is no link. ``waiver`` is what members sign on paper, ``safety`` what everybody must know.
    ``hours_ledger``: members may keep their own hours.
    """

    name = models.CharField(max_length=80)
    slug = models.SlugField(max_length=60, unique=True)
    invented = models.BooleanField(
        default=False, help_text="A demonstration garden: people, plants and weather are made up."
    )
    made_at = models.DateTimeField(auto_now_add=True)
    joining = models.CharField(max_length=8, choices=Joining, default=Joining.INVITED)
    join_nonce = models.UUIDField(null=True, blank=True)
    waiver = models.TextField(blank=True)
    safety = models.TextField(blank=True)
    hours_ledger = models.BooleanField(default=False)

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
    """One person in one garden; leaving keeps the row and dates it.

    ``skills`` are keys of ``care.skills.SKILLS``; ``minutes_a_week`` is what the person offers to
    do, None: nothing said. ``nameless``: asked that their name go from this garden's record once
    ``come_back_by`` is past; ``name_gone_at``: done.
    """

    garden = models.ForeignKey(Garden, on_delete=models.PROTECT, related_name="memberships")
    person = models.ForeignKey(
        "lifecycle.Person", on_delete=models.PROTECT, related_name="memberships"
    )
    role = models.CharField(max_length=12, choices=Role, default=Role.MEMBER)
    joined_on = models.DateField()
    left_on = models.DateField(null=True, blank=True)
    come_back_by = models.DateTimeField(null=True, blank=True)
    nameless = models.BooleanField(default=False)
    name_gone_at = models.DateTimeField(null=True, blank=True)
    skills = models.JSONField(default=list, blank=True)
    minutes_a_week = models.PositiveSmallIntegerField(null=True, blank=True)
    emergency_name = models.CharField(max_length=60, blank=True)
    emergency_phone = models.CharField(max_length=30, blank=True)
    waiver_signed_on = models.DateField(null=True, blank=True)
    waiver_noted_by = models.ForeignKey(
        "lifecycle.Person", null=True, on_delete=models.PROTECT, related_name="+"
    )
    safety_read_at = models.DateTimeField(null=True, blank=True)

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

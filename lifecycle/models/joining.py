"""How people come into a garden: invitations and the waiting list."""

from django.db import models
from django.db.models import Q

from lifecycle.models.gardens import Role
from lifecycle.models.scoping import GardenRow


class Invitation(GardenRow):
    """A letter to one address that lets its reader join, once; the latest nonce is the link's.

    It waits while ``used_at`` and ``revoked_at`` are None and ``expires_at`` is ahead.
    """

    email = models.EmailField(max_length=254)
    name = models.CharField(max_length=100, blank=True)
    role = models.CharField(max_length=12, choices=Role, default=Role.MEMBER)
    place = models.ForeignKey(
        "lifecycle.Place", null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    nonce = models.UUIDField()
    # None: the person asked for it with the garden's join link.
    made_by = models.ForeignKey(
        "lifecycle.Person", null=True, on_delete=models.PROTECT, related_name="+"
    )
    made_at = models.DateTimeField()
    sent_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True)
    used_by = models.ForeignKey(
        "lifecycle.Person", null=True, on_delete=models.PROTECT, related_name="+"
    )
    revoked_at = models.DateTimeField(null=True)
    revoked_by = models.ForeignKey(
        "lifecycle.Person", null=True, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["garden", "email"],
                condition=Q(used_at__isnull=True, revoked_at__isnull=True),
                name="invitation_one_waiting",
            ),
            models.CheckConstraint(condition=Q(role__in=Role.values), name="invitation_role_known"),
        ]
        ordering = ["-made_at", "-pk"]

    def __str__(self) -> str:
        return self.email


class WaitingPerson(GardenRow):
    """Somebody who asked for a place; the list is in the order of ``asked_on``."""

    name = models.CharField(max_length=100)
    email = models.EmailField(max_length=254)
    note = models.CharField(max_length=200, blank=True)
    asked_on = models.DateField()
    made_at = models.DateTimeField()
    invited_at = models.DateTimeField(null=True)
    removed_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["garden", "email"],
                condition=Q(invited_at__isnull=True, removed_at__isnull=True),
                name="waiting_person_once",
            )
        ]
        ordering = ["asked_on", "made_at", "pk"]

    def __str__(self) -> str:
        return self.name

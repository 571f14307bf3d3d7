"""Custody of plants and beds passing from one person to another."""

from django.db import models
from django.db.models import Q

from lifecycle.models.scoping import GardenRow


class HandOver(GardenRow):
    """One person proposes that another looks after some plants, sowings or beds from a day on.

    Accepted before its day it takes effect on that day. ``by`` is who gives, or a coordinator
    where nobody has them; ``giver`` is who had them, None: nobody.
    """

    class State(models.TextChoices):
        """Where it stands."""

        PROPOSED = "proposed", "Waiting for an answer"
        ACCEPTED = "accepted", "Accepted, takes effect on its day"
        DONE = "done", "Handed over"
        DECLINED = "declined", "Declined"
        CANCELLED = "cancelled", "Taken back"

    uuid = models.UUIDField(unique=True)
    by = models.ForeignKey("lifecycle.Person", on_delete=models.PROTECT, related_name="+")
    giver = models.ForeignKey(
        "lifecycle.Person", null=True, on_delete=models.PROTECT, related_name="+"
    )
    to = models.ForeignKey("lifecycle.Person", on_delete=models.PROTECT, related_name="+")
    from_day = models.DateField()
    note = models.CharField(max_length=300, blank=True)
    state = models.CharField(max_length=9, choices=State, default=State.PROPOSED)
    made_at = models.DateTimeField()
    answered_at = models.DateTimeField(null=True)
    done_at = models.DateTimeField(null=True)
    why = models.CharField(max_length=200, blank=True)
    raised_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["-made_at", "-pk"]
        indexes = [
            models.Index(
                fields=["from_day"],
                condition=Q(state__in=["proposed", "accepted"]),
                name="hand_over_ahead",
            )
        ]

    def __str__(self) -> str:
        return f"hand-over from {self.from_day}"


class HandOverItem(models.Model):
    """One plant, sowing or bed of a hand-over; ``waits`` while its hand-over is not settled."""

    hand_over = models.ForeignKey(HandOver, on_delete=models.CASCADE, related_name="items")
    plant = models.ForeignKey(
        "lifecycle.Plant", null=True, on_delete=models.PROTECT, related_name="+"
    )
    sowing = models.ForeignKey(
        "lifecycle.Sowing", null=True, on_delete=models.PROTECT, related_name="+"
    )
    place = models.ForeignKey(
        "lifecycle.Place", null=True, on_delete=models.PROTECT, related_name="+"
    )
    waits = models.BooleanField(default=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(plant__isnull=False, sowing__isnull=True, place__isnull=True)
                | Q(plant__isnull=True, sowing__isnull=False, place__isnull=True)
                | Q(plant__isnull=True, sowing__isnull=True, place__isnull=False),
                name="hand_over_item_one_thing",
            ),
            models.UniqueConstraint(
                fields=["plant"], condition=Q(waits=True), name="plant_in_one_hand_over"
            ),
            models.UniqueConstraint(
                fields=["sowing"], condition=Q(waits=True), name="sowing_in_one_hand_over"
            ),
        ]

    def __str__(self) -> str:
        return str(self.plant or self.sowing or self.place)

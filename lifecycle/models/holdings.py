"""Who holds a plot, and what was found when somebody looked at it."""

from django.db import models
from django.db.models import F, Q

from lifecycle.models.scoping import GardenRow


class BedHolding(GardenRow):
    """One person holds one bed from a day on, alone or with others; ending dates the row."""

    place = models.ForeignKey("lifecycle.Place", on_delete=models.PROTECT, related_name="holdings")
    person = models.ForeignKey("lifecycle.Person", on_delete=models.PROTECT, related_name="+")
    since = models.DateField()
    until = models.DateField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["place", "person"],
                condition=Q(until__isnull=True),
                name="bed_holding_once",
            ),
            models.CheckConstraint(
                condition=Q(until__isnull=True) | Q(until__gte=F("since")),
                name="bed_holding_in_order",
            ),
        ]
        ordering = ["since", "pk"]

    def __str__(self) -> str:
        return f"{self.person} holds {self.place}"


class Inspection(GardenRow):
    """What was found at a bed on a day; a finding that needs work names a day to put it right by.

    ``told`` are the people who held the bed when notice was given.
    """

    place = models.ForeignKey(
        "lifecycle.Place", on_delete=models.PROTECT, related_name="inspections"
    )
    looked_on = models.DateField()
    by = models.ForeignKey("lifecycle.Person", on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    in_order = models.BooleanField()
    finding = models.CharField(max_length=300, blank=True)
    put_right_by = models.DateField(null=True, blank=True)
    told = models.ManyToManyField("lifecycle.Person", related_name="+", blank=True)
    closed_on = models.DateField(null=True, blank=True)
    closed_by = models.ForeignKey(
        "lifecycle.Person", null=True, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        ordering = ["-looked_on", "-pk"]

    def __str__(self) -> str:
        return f"{self.place} on {self.looked_on}"

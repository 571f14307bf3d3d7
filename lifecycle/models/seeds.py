"""Germination tests of seed lots."""

from django.db import models
from django.db.models import F, Q

from lifecycle.models.entries import WrittenOnce


class GerminationTest(WrittenOnce):
    """So many sprouted of so many sown in a damp towel; written once, the latest counts."""

    uuid = models.UUIDField(unique=True)
    lot = models.ForeignKey("lifecycle.SeedLot", on_delete=models.PROTECT, related_name="tests")
    tested_on = models.DateField()
    sown = models.PositiveSmallIntegerField()
    sprouted = models.PositiveSmallIntegerField()
    by = models.ForeignKey("lifecycle.Person", on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(sown__gte=1) & Q(sprouted__lte=F("sown")),
                name="germination_test_counts",
            )
        ]
        ordering = ["-tested_on", "-pk"]

    def __str__(self) -> str:
        return f"{self.sprouted} of {self.sown} on {self.tested_on}"

    @property
    def share(self) -> float:
        """The share that sprouted, 0 to 1."""
        return self.sprouted / self.sown

"""Two plants whose labels had been swapped: settled once, taken back at most once."""

from django.db import models
from django.db.models import F, Q

from lifecycle.models.entries import WrittenOnce


class Swap(WrittenOnce):
    """The labels of two plants stood on each other from ``since`` on, until ``until``.

    What was written down before ``at`` under one label and happened in that time belongs
    to the other plant; ``records.crops.swaps`` resolves it on reading. No entry is rewritten.
    """

    uuid = models.UUIDField(unique=True)
    first = models.ForeignKey("lifecycle.Plant", on_delete=models.PROTECT, related_name="+")
    second = models.ForeignKey("lifecycle.Plant", on_delete=models.PROTECT, related_name="+")
    since = models.DateField()
    until = models.DateField(null=True)
    settled_by = models.ForeignKey("lifecycle.Person", on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    reason = models.CharField(max_length=500, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=~Q(first=F("second")), name="swap_of_two"),
            models.CheckConstraint(
                condition=Q(until__isnull=True) | Q(until__gt=F("since")), name="swap_in_order"
            ),
        ]

    def __str__(self) -> str:
        return f"swap since {self.since}"


class SwapStrike(WrittenOnce):
    """A line through a swap: who took it back, when and why."""

    swap = models.OneToOneField(Swap, on_delete=models.PROTECT, related_name="strike")
    by = models.ForeignKey("lifecycle.Person", on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    reason = models.CharField(max_length=200, blank=True)

    def __str__(self) -> str:
        return f"strike of {self.swap}"

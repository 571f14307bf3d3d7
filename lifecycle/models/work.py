"""Tasks taken from the plan, and the heartbeat of the ticks."""

from django.db import models
from django.db.models import Q

from lifecycle.models.scoping import GardenRow


class Task(GardenRow):
    """A step that came within the look-ahead, under the step's own identity.

    Promoted: a forecast closes its window early. Offered: neglected, so others of its bed were
    asked. Raised: still neglected, so coordinators see it.
    """

    class State(models.TextChoices):
        """Where the task stands."""

        OPEN = "open", "Open"
        DONE = "done", "Done"
        WITHDRAWN = "withdrawn", "Withdrawn"
        CANNOT = "cannot", "Cannot be done"

    site = models.ForeignKey("lifecycle.Site", on_delete=models.PROTECT, related_name="+")
    plant = models.ForeignKey(
        "lifecycle.Plant", null=True, on_delete=models.PROTECT, related_name="tasks"
    )
    sowing = models.ForeignKey(
        "lifecycle.Sowing", null=True, on_delete=models.PROTECT, related_name="tasks"
    )
    kind = models.CharField(max_length=24)
    growing_year = models.SmallIntegerField()
    number = models.PositiveSmallIntegerField()
    earliest = models.DateField()
    best = models.DateField()
    latest = models.DateField()
    counts_from = models.DateField()
    reason = models.TextField()
    source = models.CharField(max_length=200)
    state = models.CharField(max_length=10, choices=State, default=State.OPEN)
    assignee = models.ForeignKey(
        "lifecycle.Person", null=True, on_delete=models.PROTECT, related_name="+"
    )
    made_at = models.DateTimeField()
    moved_on = models.DateField(null=True)
    moved_from = models.DateField(null=True)
    closed_at = models.DateTimeField(null=True)
    closed_by = models.ForeignKey(
        "lifecycle.Person", null=True, on_delete=models.PROTECT, related_name="+"
    )
    closed_why = models.CharField(max_length=200, blank=True)
    promoted_on = models.DateField(null=True)
    promoted_why = models.CharField(max_length=300, blank=True)
    offered_on = models.DateField(null=True)
    raised_on = models.DateField(null=True)
    entry = models.ForeignKey(
        "lifecycle.Entry", null=True, on_delete=models.PROTECT, related_name="tasks"
    )

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(sowing__isnull=True, plant__isnull=False)
                | Q(sowing__isnull=False, plant__isnull=True),
                name="task_one_subject",
            ),
            models.UniqueConstraint(
                fields=["plant", "kind", "growing_year", "number"],
                condition=Q(plant__isnull=False),
                name="task_step_of_plant",
            ),
            models.UniqueConstraint(
                fields=["sowing", "kind", "growing_year", "number"],
                condition=Q(sowing__isnull=False),
                name="task_step_of_sowing",
            ),
            models.CheckConstraint(
                condition=Q(earliest__lte=models.F("best")) & Q(best__lte=models.F("latest")),
                name="task_window_in_order",
            ),
        ]
        indexes = [
            models.Index(
                fields=["garden", "latest"], condition=Q(state="open"), name="task_open_by_latest"
            ),
            models.Index(
                fields=["site", "earliest"], condition=Q(state="open"), name="task_open_by_site"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.growing_year}/{self.number}"


class Heartbeat(models.Model):
    """When a tick last ran to its end."""

    name = models.CharField(max_length=32, primary_key=True)
    at = models.DateTimeField()

    def __str__(self) -> str:
        return self.name

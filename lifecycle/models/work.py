"""Tasks taken from the plan or from chores, what happens to them, and who is to do them."""

from django.db import models
from django.db.models import Q

from lifecycle.models.scoping import GardenRow


class Task(GardenRow):
    """A step or a chore that came within the look-ahead, under its own identity.

    A chore's task has kind CHORE, the calendar year of its day as ``growing_year`` and its day
    of the year as ``number``. Promoted: a forecast closes its window early. Offered: neglected,
    so others of its bed were asked. Raised: still neglected, so coordinators see it.
    """

    class State(models.TextChoices):
        """Where the task stands."""

        OPEN = "open", "Open"
        DONE = "done", "Done"
        WITHDRAWN = "withdrawn", "Withdrawn"
        CANNOT = "cannot", "Cannot be done"

    CHORE = "chore"

    site = models.ForeignKey("lifecycle.Site", on_delete=models.PROTECT, related_name="+")
    plant = models.ForeignKey(
        "lifecycle.Plant", null=True, on_delete=models.PROTECT, related_name="tasks"
    )
    sowing = models.ForeignKey(
        "lifecycle.Sowing", null=True, on_delete=models.PROTECT, related_name="tasks"
    )
    chore = models.ForeignKey(
        "lifecycle.Chore", null=True, on_delete=models.PROTECT, related_name="tasks"
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
                condition=Q(sowing__isnull=True, plant__isnull=False, chore__isnull=True)
                | Q(sowing__isnull=False, plant__isnull=True, chore__isnull=True)
                | Q(sowing__isnull=True, plant__isnull=True, chore__isnull=False, kind="chore"),
                name="task_one_subject",
            ),
            models.UniqueConstraint(
                fields=["chore", "growing_year", "number"],
                condition=Q(chore__isnull=False),
                name="task_day_of_chore",
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


class TaskEvent(GardenRow):
    """One thing that happened to a task. Rows are added and never changed.

    ``by`` None: the plan did it, or a tick. ``to`` is the other person it is about.
    """

    class Act(models.TextChoices):
        """What happened."""

        MOVED = "moved", "Moved with the plan"
        WITHDRAWN = "withdrawn", "Withdrawn"
        REOPENED = "reopened", "Open again"
        TAKEN = "taken", "Taken"
        GIVEN = "given", "Given"
        GIVEN_BACK = "given_back", "Given back"
        DECLINED = "declined", "Declined"
        OFFERED = "offered", "Offered"
        SWAPPED = "swapped", "Swapped"
        OFFER_REFUSED = "refused", "Offer not taken"
        COVERED = "covered", "Passed on while its person is away"
        HANDED_OVER = "handed_over", "Moved with a hand-over"
        LEFT = "left", "Its person left the garden"
        PROMOTED = "promoted", "Window closed early by the forecast"
        TO_OTHERS = "to_others", "Offered to others of the bed"
        RAISED = "raised", "Raised to coordinators"
        DONE = "done", "Done"
        CANNOT = "cannot", "Could not be done"

    task = models.ForeignKey(Task, on_delete=models.PROTECT, related_name="events")
    act = models.CharField(max_length=12, choices=Act)
    at = models.DateTimeField()
    by = models.ForeignKey(
        "lifecycle.Person", null=True, on_delete=models.PROTECT, related_name="+"
    )
    to = models.ForeignKey(
        "lifecycle.Person", null=True, on_delete=models.PROTECT, related_name="+"
    )
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["at", "pk"]
        indexes = [models.Index(fields=["task", "at"], name="task_event_of_task")]

    def __str__(self) -> str:
        return f"{self.act} {self.at}"


class TaskOffer(GardenRow):
    """A member offers a task they have to another, alone or in exchange for one of theirs."""

    class State(models.TextChoices):
        """What came of it."""

        OPEN = "open", "Waiting for an answer"
        TAKEN = "taken", "Taken"
        REFUSED = "refused", "Not taken"
        WITHDRAWN = "withdrawn", "Taken back"
        PAST = "past", "Past: a task of it changed meanwhile"

    task = models.ForeignKey(Task, on_delete=models.PROTECT, related_name="offers")
    for_task = models.ForeignKey(Task, null=True, on_delete=models.PROTECT, related_name="+")
    by = models.ForeignKey("lifecycle.Person", on_delete=models.PROTECT, related_name="+")
    to = models.ForeignKey("lifecycle.Person", on_delete=models.PROTECT, related_name="+")
    state = models.CharField(max_length=9, choices=State, default=State.OPEN)
    made_at = models.DateTimeField()
    answered_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["task"], condition=Q(state="open"), name="task_offer_one_open"
            )
        ]

    def __str__(self) -> str:
        return f"offer of {self.task} to {self.to}"


class WorkDraft(GardenRow):
    """Who a coordinator means to give a task to, not yet published; ``to`` None: to nobody."""

    task = models.OneToOneField(Task, on_delete=models.CASCADE, related_name="draft")
    to = models.ForeignKey(
        "lifecycle.Person", null=True, on_delete=models.PROTECT, related_name="+"
    )
    proposed = models.BooleanField(default=False)
    by = models.ForeignKey("lifecycle.Person", on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"draft: {self.task} to {self.to}"


class Publication(GardenRow):
    """One publishing of the week's work: its tasks and whom each went to, one message a person."""

    by = models.ForeignKey("lifecycle.Person", on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    first_day = models.DateField()
    last_day = models.DateField()

    class Meta:
        ordering = ["-at", "-pk"]

    def __str__(self) -> str:
        return f"published {self.at}"


class PublishedTask(models.Model):
    """One task of a publication; ``to`` has it now, ``was`` had it before."""

    publication = models.ForeignKey(Publication, on_delete=models.CASCADE, related_name="tasks")
    task = models.ForeignKey(Task, on_delete=models.PROTECT, related_name="+")
    to = models.ForeignKey(
        "lifecycle.Person", null=True, on_delete=models.PROTECT, related_name="+"
    )
    was = models.ForeignKey(
        "lifecycle.Person", null=True, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["publication", "task"], name="published_task_once")
        ]

    def __str__(self) -> str:
        return f"{self.task} in {self.publication}"


class Heartbeat(models.Model):
    """When a tick last ran to its end."""

    name = models.CharField(max_length=32, primary_key=True)
    at = models.DateTimeField()

    def __str__(self) -> str:
        return self.name

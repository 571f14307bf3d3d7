"""The outbox. A row is the truth; whoever sends it claims it with a token and a lease."""

from django.db import models
from django.db.models import Q

from lifecycle.models.scoping import GardenRow


class Message(GardenRow):
    """One message to one person on one channel.

    ``about`` names the composer that writes it when it is sent, ``data`` holds the ids it
    needs, ``level`` decides how far it may interrupt.
    """

    class Channel(models.TextChoices):
        """How it reaches the person."""

        INBOX = "inbox", "On the page"
        EMAIL = "email", "E-mail"
        PUSH = "push", "Push message"

    class Kind(models.TextChoices):
        """What a person can choose to get, channel by channel."""

        FROST = "frost", "Frost nights: asks, changes, uncovering"
        DUE = "due", "What is due, on the morning it falls due"
        WEEK = "week", "The week ahead"
        HANDED = "handed", "Work and plants handed or offered to you"
        LEAD = "lead", "For coordinators: gaps and failures"

    class Level(models.TextChoices):
        """How far it may interrupt."""

        NOTE = "note", "Note"
        DUE = "due", "Due"
        ACT_TODAY = "act_today", "Act today"
        ACT_NOW = "act_now", "Act now"

    class State(models.TextChoices):
        """Where the message stands."""

        PENDING = "pending", "Waiting"
        SENT = "sent", "Sent"
        FAILED = "failed", "Failed"
        CANCELLED = "cancelled", "Cancelled"
        EXPIRED = "expired", "Expired"

    key = models.CharField(max_length=120, unique=True)
    person = models.ForeignKey(
        "lifecycle.Person", on_delete=models.PROTECT, related_name="messages"
    )
    channel = models.CharField(max_length=8, choices=Channel)
    kind = models.CharField(max_length=8, choices=Kind, default=Kind.DUE)
    level = models.CharField(max_length=10, choices=Level, default=Level.DUE)
    about = models.CharField(max_length=24, default="due")
    data = models.JSONField(default=dict, blank=True)
    for_day = models.DateField()
    subject = models.CharField(max_length=200, blank=True)
    body = models.TextField(blank=True)
    html = models.TextField(blank=True)
    not_before = models.DateTimeField()
    expires_at = models.DateTimeField()
    state = models.CharField(max_length=10, choices=State, default=State.PENDING)
    claim = models.UUIDField(null=True)
    lease_until = models.DateTimeField(null=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    last_error = models.CharField(max_length=300, blank=True)
    sent_at = models.DateTimeField(null=True)
    read_at = models.DateTimeField(null=True)
    made_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(state="sent", sent_at__isnull=False)
                | (~Q(state="sent") & Q(sent_at__isnull=True)),
                name="message_sent_has_time",
            ),
        ]
        indexes = [
            models.Index(
                fields=["not_before"], condition=Q(state="pending"), name="message_pending"
            ),
            models.Index(fields=["person", "channel", "sent_at"], name="message_inbox"),
            models.Index(fields=["garden", "state"], name="message_by_state"),
        ]

    def __str__(self) -> str:
        return self.key


class MessageItem(models.Model):
    """One task in one message: at each stage a task is told once to a person on a channel."""

    class Stage(models.TextChoices):
        """Why the task is told."""

        OPENED = "opened", "Its window opened"
        LATE = "late", "Its due day passed"
        OFFERED = "offered", "Nobody did it: offered to others of the bed"
        PROMOTED = "promoted", "The forecast closes its window"

    message = models.ForeignKey(Message, on_delete=models.CASCADE, related_name="items")
    task = models.ForeignKey("lifecycle.Task", on_delete=models.PROTECT, related_name="announced")
    person = models.ForeignKey("lifecycle.Person", on_delete=models.PROTECT, related_name="+")
    channel = models.CharField(max_length=8, choices=Message.Channel)
    stage = models.CharField(max_length=8, choices=Stage, default=Stage.OPENED)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["task", "person", "channel", "stage"], name="message_item_once"
            )
        ]

    def __str__(self) -> str:
        return f"{self.task} in {self.message}"

"""What a person wants to be told, and where: choices, calendar address, push subscriptions."""

from django.db import models

from lifecycle.models.messages import Message
from lifecycle.models.scoping import GardenRow


class MessageChoice(models.Model):
    """One kind on one channel, wanted or not; without a row the default stands."""

    person = models.ForeignKey(
        "lifecycle.Person", on_delete=models.CASCADE, related_name="message_choices"
    )
    kind = models.CharField(max_length=8, choices=Message.Kind)
    channel = models.CharField(max_length=8, choices=Message.Channel)
    wanted = models.BooleanField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["person", "kind", "channel"], name="message_choice_once"
            )
        ]

    def __str__(self) -> str:
        return f"{self.kind} by {self.channel}: {'yes' if self.wanted else 'no'}"


class CalendarAddress(models.Model):
    """The secret address of a person's calendar feed; a new ``nonce`` revokes the old address."""

    person = models.OneToOneField(
        "lifecycle.Person", on_delete=models.CASCADE, related_name="calendar_address"
    )
    nonce = models.UUIDField()
    made_at = models.DateTimeField()
    read_at = models.DateTimeField(null=True)

    def __str__(self) -> str:
        return f"calendar of {self.person}"


class CalendarItem(GardenRow):
    """One event as a person's calendar feed last showed it.

    ``parts`` names the tasks or the turn it is made of, ``content`` is what was written.
    ``sequence`` rises with each change (RFC 5545). ``gone_at``: since then it is cancelled.
    """

    person = models.ForeignKey(
        "lifecycle.Person", on_delete=models.CASCADE, related_name="calendar_items"
    )
    uid = models.UUIDField(unique=True)
    parts = models.JSONField()
    content = models.JSONField()
    last_day = models.DateField()
    sequence = models.PositiveIntegerField(default=0)
    made_at = models.DateTimeField()
    changed_at = models.DateTimeField()
    gone_at = models.DateTimeField(null=True)

    def __str__(self) -> str:
        return str(self.uid)


class PushSubscription(models.Model):
    """A browser that a person allowed to show messages (RFC 8030 endpoint, RFC 8291 keys)."""

    person = models.ForeignKey(
        "lifecycle.Person", on_delete=models.CASCADE, related_name="push_subscriptions"
    )
    endpoint = models.CharField(max_length=600, unique=True)
    p256dh = models.CharField(max_length=100)
    auth = models.CharField(max_length=40)
    device = models.CharField(max_length=80, blank=True)
    made_at = models.DateTimeField()
    worked_at = models.DateTimeField(null=True)

    def __str__(self) -> str:
        return f"{self.device or 'a browser'} of {self.person}"

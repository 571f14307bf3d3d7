"""Mail that belongs to no garden's messages: links to sign in, invitations, word of an erasure."""

from django.db import models
from django.db.models import Q


class Letter(models.Model):
    """One mail to one address. It is written when it is sent, by ``about``.

    A row is the truth and is claimed like a message. Written down the same way whether or not
    anybody has the address, so that asking for one tells nothing. The secret of a link to sign in
    is worked out from ``nonce`` and works once, until ``expires_at``.
    """

    class About(models.TextChoices):
        """What it is."""

        SIGN_IN = "sign_in", "A link to sign in"
        INVITATION = "invitation", "An invitation"
        LEAVING = "leaving", "What leaving means, and until when one can come back"
        ERASED = "erased", "Everything personal is erased"

    class State(models.TextChoices):
        """Where it stands."""

        PENDING = "pending", "Waiting"
        SENT = "sent", "Sent"
        FAILED = "failed", "Failed"
        CANCELLED = "cancelled", "Not sent"

    email = models.EmailField(max_length=254)
    about = models.CharField(max_length=12, choices=About)
    person = models.ForeignKey(
        "lifecycle.Person", null=True, on_delete=models.CASCADE, related_name="+"
    )
    invitation = models.ForeignKey(
        "lifecycle.Invitation", null=True, on_delete=models.CASCADE, related_name="letters"
    )
    data = models.JSONField(default=dict, blank=True)
    nonce = models.UUIDField()
    made_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    state = models.CharField(max_length=10, choices=State, default=State.PENDING)
    claim = models.UUIDField(null=True)
    lease_until = models.DateTimeField(null=True)
    not_before = models.DateTimeField()
    attempts = models.PositiveSmallIntegerField(default=0)
    last_error = models.CharField(max_length=300, blank=True)
    sent_at = models.DateTimeField(null=True)
    used_at = models.DateTimeField(null=True)

    class Meta:
        indexes = [
            models.Index(fields=["not_before"], condition=Q(state="pending"), name="letter_pending")
        ]

    def __str__(self) -> str:
        return f"{self.about} letter"


class Allowance(models.Model):
    """A bucket of tries for one act by one asker: ``left`` tries at ``at``, filling with time.

    ``key`` is a keyed hash of the act and the asker, so that the table holds no address.
    """

    key = models.CharField(max_length=64, primary_key=True)
    left = models.FloatField()
    at = models.DateTimeField()

    def __str__(self) -> str:
        return self.key[:8]

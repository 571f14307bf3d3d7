"""People sign in by e-mail address."""

from typing import Any
from uuid import uuid4

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models
from django.db.models import Q
from django.db.models.functions import Lower
from django.utils.crypto import salted_hmac


class PersonManager(BaseUserManager["Person"]):
    """Makes people; e-mail addresses are kept in lower case."""

    def create_user(self, email: str, password: str | None = None, **fields: Any) -> "Person":
        """Make one person. Raises ValueError without an address."""
        if not email:
            raise ValueError("A person needs an e-mail address.")
        person = self.model(email=email.strip().lower(), **fields)
        person.set_password(password)
        person.save(using=self._db)
        return person

    def get_by_natural_key(self, username: str | None) -> "Person":
        """Find by address whatever its case."""
        return self.get(email=(username or "").strip().lower())


class Person(AbstractBaseUser):
    """A person; what they may do in a garden is in their membership.

    ``digest_day`` is the weekday of the weekly message, Monday 0, at ``digest_hour`` on the
    garden's clock. A new ``session_nonce`` ends every session. ``last_seen_on`` is a UTC date.
    ``erase_after``: the person asked to be erased and may come back until then.
    ``former_names`` are those they bore here before, kept so that erasing finds them too.
    ``erased_at``: since then the row stands for somebody whose name nobody knows any more.
    """

    class Temperature(models.TextChoices):
        """Unit in which temperatures are shown."""

        CELSIUS = "C", "Degrees Celsius (°C)"
        FAHRENHEIT = "F", "Degrees Fahrenheit (°F)"

    class Length(models.TextChoices):
        """Unit in which short lengths and weights are shown."""

        METRIC = "cm", "Centimetres and grams"
        INCHES = "in", "Inches and ounces"

    email = models.EmailField("e-mail address", max_length=254, unique=True)
    name = models.CharField("name", max_length=100)
    former_names = models.JSONField(default=list, blank=True)
    temperature = models.CharField(max_length=1, choices=Temperature, default=Temperature.CELSIUS)
    length = models.CharField(max_length=2, choices=Length, default=Length.METRIC)
    phone = models.CharField(
        "telephone, for coordinators on a frost night", max_length=30, blank=True
    )
    digest_day = models.PositiveSmallIntegerField(default=6)
    digest_hour = models.PositiveSmallIntegerField(default=18)
    is_active = models.BooleanField(default=True)
    joined_at = models.DateTimeField(auto_now_add=True)
    session_nonce = models.UUIDField(default=uuid4, editable=False)
    last_seen_on = models.DateField(null=True, blank=True)
    erase_after = models.DateTimeField(null=True, blank=True)
    erased_at = models.DateTimeField(null=True, blank=True)

    objects = PersonManager()

    USERNAME_FIELD = "email"
    EMAIL_FIELD = "email"
    REQUIRED_FIELDS = ["name"]

    class Meta:
        constraints = [
            models.UniqueConstraint(Lower("email"), name="person_email_any_case"),
            models.CheckConstraint(
                condition=Q(digest_day__lte=6) & Q(digest_hour__range=(7, 20)),
                name="person_digest_time",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def _get_session_auth_hash(self, secret: str | None = None) -> str:
        # The nonce ends sessions without a new password: "sign out everywhere".
        return salted_hmac(
            "lifecycle.session",
            f"{self.password}:{self.session_nonce.hex}",
            secret=secret,
            algorithm="sha256",
        ).hexdigest()

    def get_full_name(self) -> str:
        """Return the name as the person gave it."""
        return self.name

    def get_short_name(self) -> str:
        """Return the name as the person gave it."""
        return self.name

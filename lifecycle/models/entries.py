"""The record: entries are written once; a strike sets one aside and nothing is deleted."""

from typing import Any, NoReturn, Self, TypeVar

from django.db import models
from django.db.models import Q

from lifecycle.life.kinds import Kind
from lifecycle.models.scoping import GardenRow, OwnedQuerySet

_Row = TypeVar("_Row", bound=models.Model)


class AppendOnly(RuntimeError):
    """Raised by any attempt to change or delete what is written once."""


class EntryQuerySet(OwnedQuerySet[_Row]):
    """Entries; bulk changes and deletes are refused."""

    def standing(self) -> Self:
        """Leave out entries that were struck through."""
        return self.filter(strike__isnull=True)

    def update(self, **_: Any) -> NoReturn:
        """Refuse: entries are written once."""
        raise AppendOnly("Entries are written once. Strike one through instead.")

    def delete(self) -> NoReturn:
        """Refuse: entries are written once."""
        raise AppendOnly("Entries are never deleted. Strike one through instead.")


class WrittenOnce(GardenRow):
    """A row that can be added and read, never changed or deleted."""

    objects = EntryQuerySet.as_manager()  # type: ignore[misc]

    class Meta:
        abstract = True

    def save(self, *args: Any, **kwargs: Any) -> None:
        """Add the row; refuse to change one that exists."""
        if not self._state.adding:
            raise AppendOnly("Entries are written once. Strike one through instead.")
        super().save(*args, **kwargs)

    def delete(self, *args: Any, **kwargs: Any) -> NoReturn:
        """Refuse: entries are written once."""
        raise AppendOnly("Entries are never deleted. Strike one through instead.")


class Entry(WrittenOnce):
    """Something that happened to one sowing or one plant."""

    uuid = models.UUIDField(unique=True)
    sowing = models.ForeignKey(
        "lifecycle.Sowing", null=True, on_delete=models.PROTECT, related_name="entries"
    )
    plant = models.ForeignKey(
        "lifecycle.Plant", null=True, on_delete=models.PROTECT, related_name="entries"
    )
    kind = models.CharField(max_length=16)
    happened_on = models.DateField()
    received_at = models.DateTimeField()
    # A replacement stands where the struck entry stood within its day.
    stands_at = models.DateTimeField()
    by = models.ForeignKey(
        "lifecycle.Person", null=True, on_delete=models.PROTECT, related_name="+"
    )
    quantity = models.FloatField(null=True)
    choice = models.CharField(max_length=16, blank=True)
    place = models.ForeignKey(
        "lifecycle.Place", null=True, on_delete=models.PROTECT, related_name="+"
    )
    holder = models.ForeignKey(
        "lifecycle.Person", null=True, on_delete=models.PROTECT, related_name="+"
    )
    # The variety an entry settles, and the other plant of a doubt.
    variety = models.ForeignKey(
        "lifecycle.Variety", null=True, on_delete=models.PROTECT, related_name="+"
    )
    other = models.ForeignKey(
        "lifecycle.Plant", null=True, on_delete=models.PROTECT, related_name="+"
    )
    material = models.CharField(max_length=24, blank=True)
    note = models.CharField(max_length=500, blank=True)
    replaces = models.OneToOneField(
        "self", null=True, on_delete=models.PROTECT, related_name="replaced_by"
    )

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(sowing__isnull=True, plant__isnull=False)
                | Q(sowing__isnull=False, plant__isnull=True),
                name="entry_one_subject",
            ),
            models.CheckConstraint(
                condition=Q(kind__in=[kind.value for kind in Kind]), name="entry_kind_known"
            ),
            models.CheckConstraint(
                condition=Q(quantity__isnull=True) | Q(quantity__gte=0), name="entry_quantity"
            ),
        ]
        indexes = [
            models.Index(fields=["plant", "happened_on", "stands_at"], name="entry_of_plant"),
            models.Index(fields=["sowing", "happened_on", "stands_at"], name="entry_of_sowing"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.happened_on}"


class Strike(WrittenOnce):
    """A line through an entry: who drew it, when and why."""

    entry = models.OneToOneField(Entry, on_delete=models.PROTECT, related_name="strike")
    by = models.ForeignKey("lifecycle.Person", on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    reason = models.CharField(max_length=200, blank=True)

    def __str__(self) -> str:
        return f"strike of {self.entry}"

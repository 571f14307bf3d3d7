"""Harvest given away, hours given, and the years whose figures are closed."""

from django.db import models
from django.db.models import Q

from lifecycle.models.scoping import GardenRow


class GivenAway(GardenRow):
    """Harvest given away on a day, by weight; struck through rather than deleted.

    ``species`` is a key of ``handbook.CROPS``, or "" for mixed harvest.
    """

    class To(models.TextChoices):
        """Who got it."""

        FOOD_BANK = "food_bank", "Food bank or pantry"
        NEIGHBOURS = "neighbours", "Neighbours"
        MEMBERS = "members", "Members"
        OTHER = "other", "Others"

    uuid = models.UUIDField(unique=True)
    site = models.ForeignKey("lifecycle.Site", on_delete=models.PROTECT, related_name="given_away")
    given_on = models.DateField()
    grams = models.PositiveIntegerField()
    to = models.CharField(max_length=10, choices=To)
    species = models.CharField(max_length=24, blank=True)
    note = models.CharField(max_length=200, blank=True)
    by = models.ForeignKey("lifecycle.Person", on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    struck_by = models.ForeignKey(
        "lifecycle.Person", null=True, on_delete=models.PROTECT, related_name="+"
    )
    struck_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(grams__gt=0), name="given_away_has_weight")
        ]
        ordering = ["-given_on", "-pk"]

    def __str__(self) -> str:
        return f"{self.grams} g on {self.given_on}"


class WorkHours(GardenRow):
    """Time a member says they gave on a day. Only they see it; the report counts all together."""

    uuid = models.UUIDField(unique=True)
    person = models.ForeignKey("lifecycle.Person", on_delete=models.PROTECT, related_name="+")
    worked_on = models.DateField()
    minutes = models.PositiveSmallIntegerField()
    what = models.CharField(max_length=100, blank=True)
    at = models.DateTimeField()
    struck_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(minutes__range=(1, 1440)), name="work_hours_within_a_day"
            )
        ]
        ordering = ["-worked_on", "-pk"]

    def __str__(self) -> str:
        return f"{self.minutes} min on {self.worked_on}"


class ClosedYear(GardenRow):
    """A growing year whose figures stand: they count what was known at ``as_of``.

    ``figures`` are those of that instant, by key; the report is worked out anew and compared.
    """

    year = models.PositiveSmallIntegerField()
    as_of = models.DateTimeField()
    by = models.ForeignKey("lifecycle.Person", on_delete=models.PROTECT, related_name="+")
    figures = models.JSONField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["garden", "year"], name="closed_year_once")]
        ordering = ["-year"]

    def __str__(self) -> str:
        return str(self.year)

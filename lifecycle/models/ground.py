"""What stood in a bed before the record began."""

from django.db import models

from lifecycle.models.scoping import GardenRow


class BedYear(GardenRow):
    """A plant family in a bed in one growing year, as a member remembers it.

    ``family`` is a key of the handbook's families.
    """

    place = models.ForeignKey("lifecycle.Place", on_delete=models.PROTECT, related_name="bed_years")
    year = models.PositiveSmallIntegerField()
    family = models.CharField(max_length=24)
    note = models.CharField(max_length=200, blank=True)
    by = models.ForeignKey("lifecycle.Person", on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["place", "year", "family"], name="bed_year_once")
        ]
        ordering = ["-year", "family"]

    def __str__(self) -> str:
        return f"{self.family} in {self.year}"

"""Fertilizer materials that a garden has beside those of the handbook."""

from django.db import models
from django.db.models import Q

from lifecycle.models.scoping import GardenRow

OWN = "own:"
"""What stands before the number of a garden's own material where an entry names it."""


class GardenMaterial(GardenRow):
    """A bag in the shed: percent N, P2O5 and K2O as its label says; bulk density in g per ml."""

    name = models.CharField(max_length=60)
    n = models.FloatField()
    p2o5 = models.FloatField()
    k2o = models.FloatField()
    density = models.FloatField(null=True)
    by = models.ForeignKey("lifecycle.Person", on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["garden", "name"], name="garden_material_once"),
            models.CheckConstraint(
                condition=Q(n__gte=0) & Q(p2o5__gte=0) & Q(k2o__gte=0),
                name="garden_material_analysis",
            ),
        ]
        ordering = ["name", "pk"]

    def __str__(self) -> str:
        return f"{self.name} {self.n:g}-{self.p2o5:g}-{self.k2o:g}"

    @property
    def key(self) -> str:
        """How an entry names this material."""
        return f"{OWN}{self.pk}"

"""Varieties, seed lots, sowings and plants, with the projection of their entries.

Columns under "projection" are what ``life.fold`` makes of the entries. Only ``records``
writes them, in the transaction that writes the entry; ``manage.py check_records`` proves
that they agree.
"""

from typing import Any

from django.db import models
from django.db.models import F, Q

from lifecycle.life.phases import Phase, Route
from lifecycle.models.scoping import GardenRow

PHASES = [(phase.value, phase.value) for phase in Phase]
ROUTES = [(route.value, route.value) for route in Route]


class Variety(GardenRow):
    """A variety a garden grows; the species names the crop's facts in the handbook.

    ``overrides``: this garden's own values by the fact's name, in SI.
    """

    species = models.CharField(max_length=24)
    name = models.CharField(max_length=60)
    overrides = models.JSONField(default=dict, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["garden", "species", "name"], name="variety_once")
        ]
        ordering = ["name", "pk"]

    def __str__(self) -> str:
        return self.name


class SeedLot(GardenRow):
    """Seed of one variety from one origin and year."""

    variety = models.ForeignKey(Variety, on_delete=models.PROTECT, related_name="lots")
    name = models.CharField(max_length=60)
    packed_year = models.PositiveSmallIntegerField(null=True, blank=True)
    saved_from = models.ForeignKey(
        "lifecycle.Plant", null=True, blank=True, on_delete=models.PROTECT, related_name="seed_lots"
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["variety", "name"], name="seed_lot_once"),
        ]
        ordering = ["name", "pk"]

    def __str__(self) -> str:
        return self.name


class Projection(GardenRow):
    """What a record's entries add up to, and when it was last planned."""

    site = models.ForeignKey("lifecycle.Site", on_delete=models.PROTECT, related_name="+")
    variety = models.ForeignKey(Variety, on_delete=models.PROTECT, related_name="%(class)ss")
    code = models.CharField(max_length=6)
    # projection
    phase = models.CharField(max_length=12, choices=PHASES)
    phase_since = models.DateField()
    began_on = models.DateField()
    place = models.ForeignKey(
        "lifecycle.Place", null=True, on_delete=models.PROTECT, related_name="+"
    )
    holder = models.ForeignKey(
        "lifecycle.Person", null=True, on_delete=models.PROTECT, related_name="+"
    )
    last_kind = models.CharField(max_length=16)
    last_on = models.DateField()
    # planning
    version = models.PositiveIntegerField(default=1)
    planned_on = models.DateField(null=True, blank=True)

    class Meta:
        abstract = True

    @property
    def alive(self) -> bool:
        """Whether its life goes on."""
        return self.phase != Phase.ENDED


class Sowing(Projection):
    """A batch of seed sown together; potting up makes plants of it."""

    lot = models.ForeignKey(
        SeedLot, null=True, blank=True, on_delete=models.PROTECT, related_name="sowings"
    )
    seeds_sown = models.PositiveIntegerField(default=0)
    emerged = models.PositiveIntegerField(default=0)
    potted_up = models.PositiveIntegerField(default=0)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["code"], name="sowing_code_once"),
            models.CheckConstraint(
                condition=Q(phase__in=[phase.value for phase in Phase]), name="sowing_phase_known"
            ),
        ]
        indexes = [
            models.Index(
                fields=["site", "planned_on"],
                condition=~Q(phase=Phase.ENDED.value),
                name="sowing_to_plan",
            )
        ]

    def __str__(self) -> str:
        return f"{self.variety} sowing {self.code}"


class Plant(Projection):
    """One thing with one label: a single plant, or a pair grown together.

    ``label_variety`` is what its label said at first; ``variety`` follows its entries.
    """

    name = models.CharField(max_length=60)
    label_variety = models.ForeignKey(Variety, on_delete=models.PROTECT, related_name="labelled")
    sowing = models.ForeignKey(
        Sowing, null=True, blank=True, on_delete=models.PROTECT, related_name="plants"
    )
    parent = models.ForeignKey(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="children"
    )
    # projection
    count = models.PositiveSmallIntegerField(default=1)
    route = models.CharField(max_length=12, choices=ROUTES, blank=True)
    in_doubt = models.BooleanField(default=False)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["code"], name="plant_code_once"),
            models.CheckConstraint(condition=Q(count__gte=1), name="plant_count"),
            models.CheckConstraint(
                condition=Q(phase__in=[phase.value for phase in Phase]), name="plant_phase_known"
            ),
            models.CheckConstraint(
                condition=Q(parent__isnull=True) | ~Q(parent=F("pk")), name="plant_not_own_parent"
            ),
        ]
        indexes = [
            models.Index(
                fields=["site", "planned_on"],
                condition=~Q(phase=Phase.ENDED.value),
                name="plant_to_plan",
            ),
            models.Index(fields=["garden", "name", "id"], name="plant_by_name"),
            models.Index(fields=["place", "phase"], name="plant_in_place"),
        ]

    def __str__(self) -> str:
        return self.name

    def save(self, *args: Any, **kwargs: Any) -> None:
        """Save; the label of a new plant says the variety it begins as."""
        if self._state.adding and self.label_variety_id is None:
            self.label_variety_id = self.variety_id
        super().save(*args, **kwargs)

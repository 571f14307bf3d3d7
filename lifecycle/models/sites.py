"""A site is a piece of ground with its own weather; places are where plants stand."""

from datetime import date, datetime
from zoneinfo import ZoneInfo

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q

from lifecycle.models.scoping import GardenRow


class BedRules(models.Model):
    """What a garden allows in a bed; ``clear_month`` and ``clear_day`` None: no day to clear by.

    ``plots_kept``: who holds a plot this year holds it the next.
    """

    perennials_in_ground = models.BooleanField(default=True)
    clear_month = models.PositiveSmallIntegerField(null=True, blank=True)
    clear_day = models.PositiveSmallIntegerField(null=True, blank=True)
    plots_kept = models.BooleanField(default=True)

    class Meta:
        abstract = True


_CLEAR_DAY = Q(clear_month__isnull=True, clear_day__isnull=True) | Q(
    clear_month__range=(1, 12), clear_day__range=(1, 31)
)


class Site(BedRules, GardenRow):
    """A piece of ground; its dates are local dates in its own time zone.

    Its bed rules hold for every bed that has none of its own.
    """

    garden = models.ForeignKey("lifecycle.Garden", on_delete=models.PROTECT, related_name="sites")
    name = models.CharField(max_length=80)
    latitude = models.FloatField(validators=[MinValueValidator(-66), MaxValueValidator(72)])
    longitude = models.FloatField(
        null=True, blank=True, validators=[MinValueValidator(-180), MaxValueValidator(180)]
    )
    time_zone = models.CharField(max_length=64)
    year_starts_in = models.PositiveSmallIntegerField(
        "growing year starts in month", validators=[MinValueValidator(1), MaxValueValidator(12)]
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["garden", "name"], name="site_name_once"),
            models.CheckConstraint(
                condition=Q(year_starts_in__range=(1, 12)), name="site_year_month"
            ),
            models.CheckConstraint(condition=Q(latitude__range=(-66, 72)), name="site_latitude"),
            models.CheckConstraint(condition=_CLEAR_DAY, name="site_clear_day"),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def southern(self) -> bool:
        """Whether the site lies south of the equator."""
        return self.latitude < 0

    def local_day(self, now: datetime) -> date:
        """Return the site's own date at the instant ``now``."""
        return now.astimezone(ZoneInfo(self.time_zone)).date()


class PlaceKind(models.TextChoices):
    """What kind of place; a roof decides what the record allows there."""

    BED = "bed", "Bed"
    BENCH = "bench", "Bench or pots in the open"
    NURSERY = "nursery", "Raising bench under cover"
    QUARTERS = "quarters", "Winter quarters"

    @property
    def sheltered(self) -> bool:
        """Whether plants there have a roof over them."""
        return self in (PlaceKind.NURSERY, PlaceKind.QUARTERS)


class Place(BedRules, GardenRow):
    """A bed, a bench, a raising bench or winter quarters at a site.

    ``own_rules``: its own bed rules hold and not the site's. ``common``: everybody tends it; else
    it is a plot, held by whoever has a ``BedHolding`` today, or by nobody.
    """

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="places")
    name = models.CharField(max_length=60)
    kind = models.CharField(max_length=8, choices=PlaceKind)
    position = models.PositiveSmallIntegerField("walking order", default=1)
    temperature_c = models.FloatField(
        null=True, blank=True, validators=[MinValueValidator(-10), MaxValueValidator(45)]
    )
    bright = models.BooleanField("bright enough to grow on", default=False)
    # What a bed is made of; None and "": nobody has said.
    length_m = models.FloatField(null=True, blank=True)
    width_m = models.FloatField(null=True, blank=True)
    depth_cm = models.FloatField(null=True, blank=True)
    soil = models.CharField(max_length=24, blank=True)
    mulched = models.BooleanField(default=False)
    wire = models.BooleanField("wire or another root barrier below", default=False)
    common = models.BooleanField(default=True)
    own_rules = models.BooleanField(default=False)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["site", "name"], name="place_name_once"),
            models.CheckConstraint(condition=Q(kind__in=PlaceKind.values), name="place_kind_known"),
            models.CheckConstraint(
                condition=(Q(length_m__isnull=True) | Q(length_m__gt=0))
                & (Q(width_m__isnull=True) | Q(width_m__gt=0))
                & (Q(depth_cm__isnull=True) | Q(depth_cm__gt=0)),
                name="place_has_extent",
            ),
            models.CheckConstraint(condition=_CLEAR_DAY, name="place_clear_day"),
        ]
        ordering = ["position", "name", "pk"]

    def __str__(self) -> str:
        return self.name

    @property
    def sheltered(self) -> bool:
        """Whether plants here have a roof over them."""
        return PlaceKind(self.kind).sheltered

    @property
    def in_pots(self) -> bool:
        """Whether plants here stand in pots: everywhere but in a bed."""
        return self.kind != PlaceKind.BED

    @property
    def area_m2(self) -> float | None:
        """Length times width, or None while one of them is not known."""
        if self.length_m is None or self.width_m is None:
            return None
        return self.length_m * self.width_m

    @property
    def rules(self) -> BedRules:
        """The bed rules that hold here: its own, or its site's."""
        return self if self.own_rules else self.site

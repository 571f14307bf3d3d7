"""A site's own gauge and thermometer, day by day."""

from django.db import models
from django.db.models import F, Q

from lifecycle.models.scoping import GardenRow


class DayReading(GardenRow):
    """What was read on one day: low and high in C, rain in mm; None where not read.

    ``by`` None: the site's own thermometer sent it.
    """

    site = models.ForeignKey("lifecycle.Site", on_delete=models.PROTECT, related_name="readings")
    day = models.DateField()
    tmin_c = models.FloatField(null=True)
    tmax_c = models.FloatField(null=True)
    rain_mm = models.FloatField(null=True)
    by = models.ForeignKey(
        "lifecycle.Person", null=True, on_delete=models.PROTECT, related_name="+"
    )
    at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["site", "day"], name="day_reading_once"),
            models.CheckConstraint(
                condition=Q(rain_mm__isnull=True) | Q(rain_mm__gte=0), name="day_reading_rain"
            ),
            models.CheckConstraint(
                condition=Q(tmin_c__isnull=True)
                | Q(tmax_c__isnull=True)
                | Q(tmax_c__gte=F("tmin_c")),
                name="day_reading_in_order",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.site} {self.day}"

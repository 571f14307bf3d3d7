"""Bad weather that befell a whole site."""

from datetime import date

from django.db import models
from django.db.models import F, Q

from lifecycle.models.scoping import GardenRow


class SiteEventRow(GardenRow):
    """A heat wave, hail or flood as a member reported it; ``ended_on`` None while it lasts.

    A mistaken one is withdrawn with a reason and stays readable.
    """

    class Weather(models.TextChoices):
        """What befell the site; the values are those of ``care.outlook.Weather``."""

        HEAT = "heat", "Heat wave"
        HAIL = "hail", "Hail"
        FLOOD = "flood", "Flood"

    site = models.ForeignKey("lifecycle.Site", on_delete=models.PROTECT, related_name="events")
    weather = models.CharField(max_length=8, choices=Weather)
    began_on = models.DateField()
    ended_on = models.DateField(null=True)
    note = models.CharField(max_length=500, blank=True)
    by = models.ForeignKey("lifecycle.Person", on_delete=models.PROTECT, related_name="+")
    withdrawn_at = models.DateTimeField(null=True)
    withdrawn_by = models.ForeignKey(
        "lifecycle.Person", null=True, on_delete=models.PROTECT, related_name="+"
    )
    withdrawn_why = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(weather__in=["heat", "hail", "flood"]), name="site_event_known"
            ),
            models.CheckConstraint(
                condition=Q(ended_on__isnull=True) | Q(ended_on__gte=F("began_on")),
                name="site_event_in_order",
            ),
            models.UniqueConstraint(
                fields=["site", "weather", "began_on"],
                condition=Q(withdrawn_at__isnull=True),
                name="site_event_once_a_day",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_weather_display()} from {self.began_on}"

    def covers(self, day: date) -> bool:
        """Whether the weather lasted on ``day``."""
        return self.began_on <= day and (self.ended_on is None or day <= self.ended_on)

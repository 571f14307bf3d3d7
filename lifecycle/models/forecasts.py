"""Forecasts as they were issued, where they come from, and a site's own thermometer."""

from django.db import models
from django.db.models import Q

from lifecycle.models.scoping import GardenRow


class ForecastSource(GardenRow):
    """Where a site's forecasts come from, and how the last tries went."""

    class Kind(models.TextChoices):
        """The adapter that reads it."""

        GRIDPOINT = "gridpoint", "A national weather service's gridpoint forecast"
        DAILY = "daily", "An open forecast service"
        FILE = "file", "A file that is dropped into a folder"
        TYPED = "typed", "Typed in by members"

    site = models.OneToOneField(
        "lifecycle.Site", on_delete=models.PROTECT, related_name="forecast_source"
    )
    kind = models.CharField(max_length=10, choices=Kind, default=Kind.TYPED)
    file_name = models.CharField(max_length=80, blank=True)
    set_by = models.ForeignKey(
        "lifecycle.Person", null=True, on_delete=models.PROTECT, related_name="+"
    )
    set_at = models.DateTimeField()
    tried_at = models.DateTimeField(null=True)
    worked_at = models.DateTimeField(null=True)
    next_try_at = models.DateTimeField(null=True)
    failures = models.PositiveSmallIntegerField(default=0)
    last_error = models.CharField(max_length=300, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(kind__in=["gridpoint", "daily", "file", "typed"]),
                name="forecast_source_known",
            )
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} for {self.site}"


class FetchedForecast(models.Model):
    """One answer of a forecast service by its address: public data, shared by every garden."""

    address = models.CharField(max_length=300, unique=True)
    body_gz = models.BinaryField()
    fetched_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    etag = models.CharField(max_length=200, blank=True)

    def __str__(self) -> str:
        return self.address


class NightForecast(GardenRow):
    """The low of one night as one issue of a forecast told it; never changed afterwards.

    ``night`` is the date of its evening: the low is read on the morning after. ``source`` is
    a value of ``ForecastSource.Kind``. ``lead_nights`` counts from the site's day of issue; None
    when issued after 16:00, too late in the day to be compared with other days.
    """

    site = models.ForeignKey("lifecycle.Site", on_delete=models.PROTECT, related_name="forecasts")
    source = models.CharField(max_length=10, choices=ForecastSource.Kind)
    issued_at = models.DateTimeField()
    received_at = models.DateTimeField()
    night = models.DateField()
    lead_nights = models.SmallIntegerField(null=True)
    low_c = models.FloatField()
    low_at = models.DateTimeField(null=True)
    wind_m_s = models.FloatField(null=True)
    cloud_percent = models.FloatField(null=True)
    dew_point_c = models.FloatField(null=True)
    by = models.ForeignKey(
        "lifecycle.Person", null=True, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["site", "source", "issued_at", "night"], name="night_forecast_once"
            ),
            models.CheckConstraint(condition=Q(low_c__range=(-95, 60)), name="night_forecast_low"),
        ]
        indexes = [
            models.Index(fields=["site", "night", "-issued_at"], name="night_forecast_newest")
        ]

    def __str__(self) -> str:
        return f"{self.night}: {self.low_c} C"


class SensorAddress(GardenRow):
    """The secret address to which a site's own thermometer sends its readings.

    The secret is worked out from ``nonce`` and the site's key and stands nowhere.
    """

    site = models.OneToOneField(
        "lifecycle.Site", on_delete=models.PROTECT, related_name="sensor_address"
    )
    nonce = models.UUIDField()
    made_at = models.DateTimeField()
    made_by = models.ForeignKey("lifecycle.Person", on_delete=models.PROTECT, related_name="+")
    heard_at = models.DateTimeField(null=True)

    def __str__(self) -> str:
        return f"sensor of {self.site}"


class AirReading(GardenRow):
    """The air at a site's own thermometer at one instant, in C."""

    site = models.ForeignKey(
        "lifecycle.Site", on_delete=models.PROTECT, related_name="air_readings"
    )
    at = models.DateTimeField()
    air_c = models.FloatField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["site", "at"], name="air_reading_once"),
            models.CheckConstraint(condition=Q(air_c__range=(-60, 60)), name="air_reading_bounds"),
        ]

    def __str__(self) -> str:
        return f"{self.at}: {self.air_c} C"

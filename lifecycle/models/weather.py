"""What is known of a site's weather: station records, typed dates, the next seven nights."""

from django.core.validators import RegexValidator
from django.db import models

from lifecycle.models.scoping import GardenRow

month_day = RegexValidator(
    r"^(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])$", "Give month and day as MM-DD, such as 05-12."
)


class WeatherRecord(GardenRow):
    """A daily record as it came, and the climate computed from it."""

    site = models.ForeignKey(
        "lifecycle.Site", on_delete=models.PROTECT, related_name="weather_records"
    )
    name = models.CharField(max_length=120)
    source_gz = models.BinaryField()
    climate = models.JSONField()
    invented = models.BooleanField(default=False)
    added_at = models.DateTimeField()
    added_by = models.ForeignKey(
        "lifecycle.Person", null=True, on_delete=models.PROTECT, related_name="+"
    )
    in_use = models.BooleanField(default=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["site"],
                condition=models.Q(in_use=True),
                name="weather_record_one_in_use",
            )
        ]

    def __str__(self) -> str:
        return self.name


class TypedClimate(GardenRow):
    """Dates a gardener typed in: used while no firm record exists."""

    site = models.OneToOneField(
        "lifecycle.Site", on_delete=models.PROTECT, related_name="typed_climate"
    )
    half_zone = models.CharField(
        "hardiness zone",
        max_length=3,
        blank=True,
        validators=[RegexValidator(r"^(1[0-3]|[1-9])[ab]$", "Give a half-zone such as 7b.")],
    )
    zone_source = models.CharField("map edition", max_length=80, blank=True)
    last_freeze = models.CharField(max_length=5, blank=True, validators=[month_day])
    first_freeze = models.CharField(max_length=5, blank=True, validators=[month_day])
    warm_from = models.CharField(max_length=5, blank=True, validators=[month_day])
    cool_from = models.CharField(max_length=5, blank=True, validators=[month_day])

    def __str__(self) -> str:
        return f"typed dates of {self.site}"


class SevenNightLows(GardenRow):
    """The lows expected for the next seven nights, as a member typed them."""

    site = models.OneToOneField(
        "lifecycle.Site", on_delete=models.PROTECT, related_name="seven_nights"
    )
    first_night = models.DateField()
    lows_c = models.JSONField()
    typed_by = models.ForeignKey("lifecycle.Person", on_delete=models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return f"seven nights from {self.first_night}"

"""What a site chose where sources disagree."""

from django.db import models

from lifecycle.models.scoping import GardenRow


class SiteSetting(GardenRow):
    """One choice of a site; a setting without a row stands at its default."""

    site = models.ForeignKey("lifecycle.Site", on_delete=models.PROTECT, related_name="settings")
    key = models.CharField(max_length=32)
    value = models.CharField(max_length=32)
    by = models.ForeignKey("lifecycle.Person", on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["site", "key"], name="site_setting_once"),
        ]

    def __str__(self) -> str:
        return f"{self.key}: {self.value}"

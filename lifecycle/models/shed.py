"""Keys and tools that are shared, and who has them."""

from django.db import models
from django.db.models import Q

from lifecycle.models.scoping import GardenRow


class Tool(GardenRow):
    """A tool, or a key, that members borrow."""

    class Kind(models.TextChoices):
        """What it is."""

        TOOL = "tool", "Tool"
        KEY = "key", "Key"

    site = models.ForeignKey("lifecycle.Site", on_delete=models.PROTECT, related_name="tools")
    kind = models.CharField(max_length=4, choices=Kind, default=Kind.TOOL)
    name = models.CharField(max_length=60)
    kept_in = models.CharField(max_length=80, blank=True)
    note = models.CharField(max_length=200, blank=True)
    gone_on = models.DateField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["site", "name"], condition=Q(gone_on__isnull=True), name="tool_name_once"
            )
        ]
        ordering = ["kind", "name", "pk"]

    def __str__(self) -> str:
        return self.name


class ToolLoan(GardenRow):
    """One person has one tool from an instant on, until it is back."""

    tool = models.ForeignKey(Tool, on_delete=models.PROTECT, related_name="loans")
    person = models.ForeignKey("lifecycle.Person", on_delete=models.PROTECT, related_name="+")
    out_at = models.DateTimeField()
    back_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["tool"], condition=Q(back_at__isnull=True), name="tool_out_once"
            )
        ]
        ordering = ["-out_at", "-pk"]

    def __str__(self) -> str:
        return f"{self.tool} with {self.person}"

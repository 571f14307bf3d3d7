"""Who changed or looked at what only a few may: roles, settings, exports."""

from django.db import models

from lifecycle.models.scoping import GardenRow


class AuditNote(GardenRow):
    """One act worth looking up later. Rows are added and never changed.

    ``act`` is a key of ``records.people.audit.ACTS``; ``detail`` holds codes and numbers, never
    names.
    """

    at = models.DateTimeField()
    by = models.ForeignKey(
        "lifecycle.Person", null=True, on_delete=models.PROTECT, related_name="+"
    )
    about = models.ForeignKey(
        "lifecycle.Person", null=True, on_delete=models.PROTECT, related_name="+"
    )
    act = models.CharField(max_length=24)
    detail = models.JSONField(default=dict, blank=True)

    class Meta:
        ordering = ["-at", "-pk"]
        indexes = [models.Index(fields=["garden", "at"], name="audit_note_of_garden")]

    def __str__(self) -> str:
        return f"{self.act} {self.at}"

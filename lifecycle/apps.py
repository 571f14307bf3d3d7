"""The app's registration with Django."""

from django.apps import AppConfig


class LifecycleConfig(AppConfig):
    """The one app of this site."""

    name = "lifecycle"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Register the system checks."""
        from lifecycle import checks  # noqa: F401

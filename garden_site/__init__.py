"""The Django project: settings, addresses, the Celery app and the web entry point."""

from garden_site.celery import app as celery_app

__all__ = ["celery_app"]

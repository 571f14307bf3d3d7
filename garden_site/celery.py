"""The Celery app. The broker only carries "look now"; the database is the truth."""

import os
from typing import Any

from celery import Celery
from celery.signals import task_postrun, task_prerun

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "garden_site.settings")

app = Celery("garden_site")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks(["lifecycle"], related_name="jobs")


@task_prerun.connect
@task_postrun.connect
def recycle_connections(**_: Any) -> None:
    """Drop stale database connections around a job.

    Eager jobs run inside beat, where Django never recycles a connection: after a
    database restart every later tick would fail on the dead one.
    """
    from django.db import close_old_connections, connection

    if not connection.in_atomic_block:
        close_old_connections()

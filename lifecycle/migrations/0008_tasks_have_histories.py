from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.state import StateApps

ENDS = ("done", "cannot", "withdrawn")
"""The same words as states of a task and as acts of its history."""


def write_histories(apps: StateApps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    """Tasks that ended before histories were kept get the event that ended them."""
    tasks = apps.get_model("lifecycle", "Task")
    events = apps.get_model("lifecycle", "TaskEvent")
    told = events.objects.filter(act__in=[*ENDS, "reopened"]).values("task")
    ended = tasks.objects.filter(state__in=ENDS, closed_at__isnull=False).exclude(pk__in=told)
    events.objects.bulk_create(
        (
            events(
                garden_id=task.garden_id,
                task_id=task.pk,
                act=task.state,
                at=task.closed_at,
                by_id=task.closed_by_id,
                note=task.closed_why,
            )
            for task in ended.iterator(chunk_size=2000)
        ),
        batch_size=500,
    )


class Migration(migrations.Migration):
    dependencies = [("lifecycle", "0007_a_community_at_work")]

    operations = [migrations.RunPython(write_histories, migrations.RunPython.noop)]

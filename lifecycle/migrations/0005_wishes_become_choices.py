from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.state import StateApps

KINDS = ("frost", "due", "week", "handed", "lead")


def carry_wishes(apps: StateApps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    """Who wanted no e-mail goes on getting none, of any kind."""
    people = apps.get_model("lifecycle", "Person")
    choices = apps.get_model("lifecycle", "MessageChoice")
    without = people.objects.filter(wants_email=False).values_list("pk", flat=True)
    choices.objects.bulk_create(
        [
            choices(person_id=pk, kind=kind, channel="email", wanted=False)
            for pk in without
            for kind in KINDS
        ]
    )


def wishes_back(apps: StateApps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    """Who wants no e-mail about what is due gets none at all."""
    people = apps.get_model("lifecycle", "Person")
    choices = apps.get_model("lifecycle", "MessageChoice")
    refused = choices.objects.filter(kind="due", channel="email", wanted=False)
    people.objects.filter(pk__in=refused.values("person")).update(wants_email=False)


class Migration(migrations.Migration):
    dependencies = [("lifecycle", "0004_the_night_and_every_reminder")]

    operations = [migrations.RunPython(carry_wishes, wishes_back)]

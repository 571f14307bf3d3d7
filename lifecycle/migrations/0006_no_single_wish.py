from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("lifecycle", "0005_wishes_become_choices")]

    operations = [migrations.RemoveField(model_name="person", name="wants_email")]

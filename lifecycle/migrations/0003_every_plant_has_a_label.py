import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    # Apart from the rows it fills: PostgreSQL alters no table that has writes pending.
    dependencies = [
        ("lifecycle", "0002_the_whole_craft"),
    ]

    operations = [
        migrations.AlterField(
            model_name="plant",
            name="label_variety",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="labelled",
                to="lifecycle.variety",
            ),
        ),
    ]

"""A database of before keeps its plants: what is new about them is filled in."""

from datetime import date

import pytest
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

BEFORE = [("lifecycle", "0001_initial")]


@pytest.mark.database
@pytest.mark.django_db(transaction=True)
def test_every_plant_of_before_gets_the_variety_on_its_label() -> None:
    latest = MigrationExecutor(connection).loader.graph.leaf_nodes("lifecycle")
    try:
        executor = MigrationExecutor(connection)
        executor.migrate(BEFORE)
        old = executor.loader.project_state(BEFORE).apps
        garden = old.get_model("lifecycle", "Garden").objects.create(name="Old", slug="old")
        site = old.get_model("lifecycle", "Site").objects.create(
            garden=garden, name="Bank", latitude=50, time_zone="UTC", year_starts_in=1
        )
        varieties = old.get_model("lifecycle", "Variety").objects
        kinds = [
            varieties.create(garden=garden, species="annuum", name=name)
            for name in ("Ancho", "Cayenne")
        ]
        for number, kind in enumerate(kinds):
            old.get_model("lifecycle", "Plant").objects.create(
                garden=garden,
                site=site,
                variety=kind,
                code=f"OLD{number}",
                name=f"Old {number}",
                phase="growing",
                phase_since=date(2026, 5, 1),
                began_on=date(2026, 3, 1),
                last_kind="note",
                last_on=date(2026, 5, 1),
            )
        executor = MigrationExecutor(connection)
        executor.migrate(latest)
        new = executor.loader.project_state(latest).apps.get_model("lifecycle", "Plant")
        found = dict(new.objects.values_list("variety__name", "label_variety__name"))
        assert found == {"Ancho": "Ancho", "Cayenne": "Cayenne"}
        assert list(new.objects.values_list("in_doubt", flat=True)) == [False, False]
    finally:
        MigrationExecutor(connection).migrate(latest)

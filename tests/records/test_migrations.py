"""A database of before keeps its plants: what is new about them is filled in."""

from datetime import UTC, date, datetime

import pytest
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

BEFORE = [("lifecycle", "0001_initial")]
ONE_WISH = [("lifecycle", "0003_every_plant_has_a_label")]
NO_HISTORIES = [("lifecycle", "0006_no_single_wish")]


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


@pytest.mark.database
@pytest.mark.django_db(transaction=True)
def test_who_wanted_no_mail_goes_on_getting_none_and_back() -> None:
    latest = MigrationExecutor(connection).loader.graph.leaf_nodes("lifecycle")
    try:
        executor = MigrationExecutor(connection)
        executor.migrate(ONE_WISH)
        people = executor.loader.project_state(ONE_WISH).apps.get_model("lifecycle", "Person")
        for name, wants in (("yes", True), ("no", False)):
            people.objects.create(email=f"{name}@garden.example", name=name, wants_email=wants)
        executor = MigrationExecutor(connection)
        executor.migrate(latest)
        new = executor.loader.project_state(latest).apps
        chosen = new.get_model("lifecycle", "MessageChoice").objects
        assert set(chosen.values_list("person__name", "kind", "channel", "wanted")) == {
            ("no", kind, "email", False) for kind in ("frost", "due", "week", "handed", "lead")
        }
        person = new.get_model("lifecycle", "Person").objects.get(name="yes")
        assert (person.phone, person.digest_day, person.digest_hour) == ("", 6, 18)
        # Meanwhile one kind was stopped by somebody who wants the others.
        chosen.create(person_id=person.pk, kind="week", channel="email", wanted=False)
        executor = MigrationExecutor(connection)
        executor.migrate(ONE_WISH)
        people = executor.loader.project_state(ONE_WISH).apps.get_model("lifecycle", "Person")
        assert dict(people.objects.values_list("name", "wants_email")) == {
            "yes": True,
            "no": False,
        }
    finally:
        MigrationExecutor(connection).migrate(latest)


@pytest.mark.database
@pytest.mark.django_db(transaction=True)
def test_tasks_that_ended_before_get_the_event_that_ended_them() -> None:
    latest = MigrationExecutor(connection).loader.graph.leaf_nodes("lifecycle")
    noon = datetime(2026, 5, 1, 12, tzinfo=UTC)
    day = date(2026, 5, 1)
    try:
        executor = MigrationExecutor(connection)
        executor.migrate(NO_HISTORIES)
        old = executor.loader.project_state(NO_HISTORIES).apps
        garden = old.get_model("lifecycle", "Garden").objects.create(name="Old", slug="old")
        person = old.get_model("lifecycle", "Person").objects.create(email="a@b.example", name="A")
        site = old.get_model("lifecycle", "Site").objects.create(
            garden=garden, name="Bank", latitude=50, time_zone="UTC", year_starts_in=1
        )
        variety = old.get_model("lifecycle", "Variety").objects.create(
            garden=garden, species="annuum", name="Ancho"
        )
        plant = old.get_model("lifecycle", "Plant").objects.create(
            **{"garden": garden, "site": site, "variety": variety, "label_variety": variety},
            **{"code": "OLD234", "name": "Old", "phase": "growing", "phase_since": day},
            **{"began_on": day, "last_kind": "note", "last_on": day},
        )
        for number, (state, at) in enumerate((("done", noon), ("cannot", noon), ("open", None))):
            old.get_model("lifecycle", "Task").objects.create(
                **{"garden": garden, "site": site, "plant": plant, "kind": "feed"},
                **{"growing_year": 2026, "number": number, "reason": "", "source": ""},
                **{"earliest": day, "best": day, "latest": day, "counts_from": day},
                **{"made_at": noon, "state": state, "closed_at": at},
                **{"closed_by": person if at else None, "closed_why": "rain" if at else ""},
            )
        executor = MigrationExecutor(connection)
        executor.migrate(latest)
        events = executor.loader.project_state(latest).apps.get_model("lifecycle", "TaskEvent")
        assert set(events.objects.values_list("act", "at", "by__name", "note")) == {
            ("done", noon, "A", "rain"),
            ("cannot", noon, "A", "rain"),
        }
    finally:
        MigrationExecutor(connection).migrate(latest)

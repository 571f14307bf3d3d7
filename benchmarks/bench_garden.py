"""A garden of any size in a database of its own, for the benchmarks."""

import os
import sys
import tempfile
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from uuid import uuid4

NOW = datetime(2026, 11, 25, 18, tzinfo=UTC)
PER_PLACE = 50


def start(database: str | None = None, mail: str = "dummymail://") -> None:
    """Make an empty SQLite database, or take the one given, and set Django up on it."""
    sys.path.insert(0, str(Path(__file__).resolve().parent.parent))
    folder = tempfile.mkdtemp(prefix="garden-bench-")
    os.environ["DATA_DIR"] = folder
    os.environ["LOG_LEVEL"] = "WARNING"
    os.environ["EMAIL_URL"] = mail
    os.environ["DATABASE_URL"] = database or f"sqlite:///{folder}/bench.sqlite3"
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "garden_site.settings")
    import django

    django.setup()
    from django.core.management import call_command

    call_command("migrate", verbosity=0)
    call_command("collectstatic", interactive=False, verbosity=0)


def found(now: datetime = NOW):
    """Return the owner of a new garden whose site has a climate."""
    from lifecycle.demo.scenario import GARDENS
    from lifecycle.demo.weather import daily_csv
    from lifecycle.models import Site
    from lifecycle.records.ground import gardens
    from lifecycle.records.weather import weather

    owner = gardens.found_garden(
        garden_name="Bench garden",
        person_name="Bench Owner",
        email="owner@bench.example",
        password="a-long-bench-password",
        site_name="Bench site",
        latitude=42.0,
        time_zone="America/Chicago",
        now=now,
    )
    site = Site.objects.get()
    data = daily_csv(GARDENS[0].sites[0].climate, 2025)
    weather.add_record(owner, site, name="Invented", data=data, units="C", now=now)
    return owner


def fill(owner, number: int, now: datetime = NOW) -> None:
    """Add ``number`` kept plants with a year of entries each, fifty to a winter place."""
    from lifecycle.life.kinds import Kind
    from lifecycle.models import Entry, Place, Plant, Site
    from lifecycle.records.crops.codes import new_codes
    from lifecycle.records.ground import gardens

    site = Site.objects.get()
    have = Place.objects.count()
    stores = [
        gardens.add_place(owner, site, name=f"Store {have + n}", kind="quarters", position=1)
        for n in range(-(-number // PER_PLACE))
    ]
    bed = gardens.add_place(owner, site, name=f"Bed {have}", kind="bed", position=2)
    variety = gardens.variety(owner, species="annuum", name="Cayenne")
    shared = {
        "garden_id": site.garden_id,
        "site": site,
        "variety": variety,
        "holder": owner.person,
        "phase": "resting",
        "phase_since": date(2026, 9, 20),
        "began_on": date(2026, 4, 1),
        "route": "resting",
        "last_kind": Kind.WATERED,
        "last_on": date(2026, 11, 1),
    }
    plants = Plant.objects.bulk_create(
        [
            Plant(
                **shared,
                code=code,
                name=f"Cayenne {code}",
                label_variety=shared["variety"],
                place=stores[index // PER_PLACE],
            )
            for index, code in enumerate(new_codes(number))
        ],
        batch_size=1000,
    )
    acts = [
        (Kind.RAISED, date(2026, 4, 1), {"quantity": 1, "holder": owner.person}),
        (Kind.HARDENING, date(2026, 5, 20), {}),
        (Kind.PLANTED_OUT, date(2026, 6, 3), {"place": bed}),
        *[(Kind.FED, date(2026, 6, 26) + timedelta(21 * n), {}) for n in range(3)],
        *[(Kind.PICKED, date(2026, 8, 1) + timedelta(9 * n), {"quantity": 250}) for n in range(6)],
        (Kind.REVIEWED, date(2026, 8, 20), {"choice": "resting"}),
        (Kind.LIFTED, date(2026, 9, 18), {}),
        (Kind.CUT_BACK, date(2026, 9, 18), {"quantity": 10}),
        (Kind.WINTER_QUARTERS, date(2026, 9, 20), {"choice": "resting"}),
        *[
            (Kind.WINTER_CHECK, date(2026, 9, 28) + timedelta(9 * n), {"choice": "sound"})
            for n in range(2)
        ],
        (Kind.WATERED, date(2026, 10, 11), {}),
        (Kind.WATERED, date(2026, 11, 1), {}),
    ]
    Entry.objects.bulk_create(
        (
            Entry(
                garden_id=site.garden_id,
                uuid=uuid4(),
                plant=plant,
                kind=kind,
                happened_on=day,
                received_at=now,
                stands_at=now,
                **({"place": plant.place} if kind == Kind.WINTER_QUARTERS else {}),
                **more,
            )
            for plant in plants
            for kind, day, more in acts
        ),
        batch_size=1000,
    )

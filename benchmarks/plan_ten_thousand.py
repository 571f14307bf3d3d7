"""How many plants a second are planned: by the rules alone, and through the work list.

Run: .venv/bin/python benchmarks/plan_ten_thousand.py
"""

import os
import tempfile
import time
from datetime import UTC, date, datetime, timedelta
from uuid import uuid4

NUMBER = 10_000


def main() -> None:
    """Plan ten thousand plants of one site both ways and print the rates."""
    folder = tempfile.mkdtemp(prefix="plan-bench-")
    os.environ["DATA_DIR"] = folder
    os.environ["DATABASE_URL"] = f"sqlite:///{folder}/bench.sqlite3"
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "garden_site.settings")
    import django

    django.setup()
    from django.core.management import call_command

    call_command("migrate", verbosity=0)
    now = datetime(2026, 11, 25, 9, tzinfo=UTC)
    site = fill(now)
    rules_alone(site, now)
    through_the_work_list(site, now)


def fill(now: datetime):
    """Return a site with a climate and ten thousand kept plants with a year of entries each."""
    from lifecycle.demo.scenario import GARDENS
    from lifecycle.demo.weather import daily_csv
    from lifecycle.life.kinds import Kind
    from lifecycle.models import Entry, Plant, Site
    from lifecycle.records import gardens, weather
    from lifecycle.records.codes import new_codes

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
    place = gardens.add_place(owner, site, name="Store", kind="quarters", position=1)
    bed = gardens.add_place(owner, site, name="Bed", kind="bed", position=2)
    variety = gardens.variety(owner, species="annuum", name="Cayenne")
    data = daily_csv(GARDENS[0].sites[0].climate, 2025)
    weather.add_record(owner, site, name="Invented", data=data, units="C", now=now)
    shared = {"garden_id": site.garden_id, "site": site, "variety": variety}
    plants = Plant.objects.bulk_create(
        [
            Plant(
                **shared,
                code=code,
                name=f"Cayenne {index}",
                phase="resting",
                phase_since=date(2026, 9, 20),
                began_on=date(2026, 4, 1),
                place=place,
                last_kind=Kind.WATERED,
                last_on=date(2026, 11, 1),
            )
            for index, code in enumerate(new_codes(NUMBER))
        ],
        batch_size=1000,
    )
    acts = [
        (Kind.RAISED, date(2026, 4, 1), {"quantity": 1, "place": place}),
        (Kind.HARDENING, date(2026, 5, 20), {}),
        (Kind.PLANTED_OUT, date(2026, 6, 3), {"place": bed}),
        *[(Kind.FED, date(2026, 6, 26) + timedelta(21 * n), {}) for n in range(3)],
        *[(Kind.PICKED, date(2026, 8, 1) + timedelta(9 * n), {"quantity": 250}) for n in range(5)],
        (Kind.REVIEWED, date(2026, 8, 20), {"choice": "resting"}),
        (Kind.LIFTED, date(2026, 9, 18), {}),
        (Kind.CUT_BACK, date(2026, 9, 18), {"quantity": 10}),
        (Kind.WINTER_QUARTERS, date(2026, 9, 20), {"choice": "resting", "place": place}),
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
                **more,
            )
            for plant in plants
            for kind, day, more in acts
        ),
        batch_size=1000,
    )
    return site


def rules_alone(site, now: datetime) -> None:
    """Time fold and plan without a database, for the look-ahead and for the whole year."""
    from lifecycle.care.plan import plan
    from lifecycle.life.fold import fold
    from lifecycle.models import Plant
    from lifecycle.records import ledger
    from lifecycle.reminders.planning import climate_of

    dates = climate_of(site).dates
    facts = ledger.facts_by_record("plant", Plant.objects.values_list("pk", flat=True))
    today = site.local_day(now)
    for words, until in (("30 days ahead", today + timedelta(30)), ("a whole year", None)):
        begun = time.perf_counter()
        steps = 0
        for own in facts.values():
            steps += len(plan(fold("plant", own), "annuum", dates, today, until=until))
        rate = len(facts) / (time.perf_counter() - begun)
        print(f"rules alone, {words}: {rate:,.0f} plants a second, {steps / len(facts):.1f} steps each")


def through_the_work_list(site, now: datetime) -> None:
    """Time the plan tick: the first run writes tasks, the next day's moves nothing much."""
    from lifecycle.models import Task
    from lifecycle.reminders.worklist import plan_all

    for words, moment in (
        ("first run", now),
        ("same day again", now),
        ("next day", now + timedelta(days=1)),
    ):
        begun = time.perf_counter()
        planned = plan_all(now=moment)
        took = time.perf_counter() - begun
        rate = f"{planned / took:,.0f} plants a second" if planned else f"{took * 1000:.0f} ms"
        print(f"plan tick, {words}: {planned} planned, {rate}, {Task.objects.count()} tasks")


if __name__ == "__main__":
    main()

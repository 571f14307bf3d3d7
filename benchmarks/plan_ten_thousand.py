"""How many plants a second are planned: by the rules alone, and through the work list.

Run: .venv/bin/python benchmarks/plan_ten_thousand.py
"""

import time
from datetime import datetime, timedelta

import bench_garden

NUMBER = 10_000


def main() -> None:
    """Plan ten thousand plants of one site both ways and print the rates."""
    bench_garden.start()
    bench_garden.fill(bench_garden.found(), NUMBER)
    from lifecycle.models import Site

    site = Site.objects.get()
    rules_alone(site, bench_garden.NOW)
    through_the_work_list(bench_garden.NOW)


def rules_alone(site, now: datetime) -> None:
    """Time fold and plan without a database, for the look-ahead and for the whole year."""
    from lifecycle.care.plan import plan
    from lifecycle.life.fold import fold
    from lifecycle.models import Plant
    from lifecycle.records.crops import ledger
    from lifecycle.reminders.work.planning import climate_of

    dates = climate_of(site).dates
    facts = ledger.facts_by_record("plant", Plant.objects.values_list("pk", flat=True))
    today = site.local_day(now)
    for words, until in (("30 days ahead", today + timedelta(30)), ("a whole year", None)):
        begun = time.perf_counter()
        steps = 0
        for own in facts.values():
            steps += len(plan(fold("plant", own), "annuum", dates, today, until=until))
        rate = len(facts) / (time.perf_counter() - begun)
        each = steps / len(facts)
        print(f"rules alone, {words}: {rate:,.0f} plants a second, {each:.1f} steps each")


def through_the_work_list(now: datetime) -> None:
    """Time the plan tick: the first run writes tasks, the next day's moves nothing much."""
    from lifecycle.models import Task
    from lifecycle.reminders.work.worklist import plan_all

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

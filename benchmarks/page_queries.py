"""Queries of every page at 50 and at 5,000 plants, and the time each page takes.

Run: .venv/bin/python benchmarks/page_queries.py
Fails when a page asks more queries in the large garden than in the small one.
"""

import statistics
import sys
import time

import bench_garden

SMALL, LARGE, ROUNDS = 50, 5_000, 7


class Counter:
    """Counts the queries that pass through it."""

    def __init__(self) -> None:
        self.number = 0

    def __call__(self, execute, sql, params, many, context):
        """Count one query and let it through."""
        self.number += 1
        return execute(sql, params, many, context)


def main() -> int:
    """Fill a garden twice, visit its pages at both sizes and compare."""
    bench_garden.start()
    owner = bench_garden.found()
    bench_garden.fill(owner, SMALL)
    small = visit(owner)
    bench_garden.fill(owner, LARGE - SMALL)
    large = visit(owner)
    print(f"{'page':34}{'queries':>16}{'ms':>18}")
    worse = []
    for page, (queries, took) in small.items():
        many, longer = large[page]
        print(f"{page:34}{queries:>8}{many:>8}{took:>9.1f}{longer:>9.1f}")
        if many != queries:
            worse.append(page)
    print(f"{len(small)} pages at {SMALL} and {LARGE} plants")
    if worse:
        print(f"More queries in the large garden: {', '.join(worse)}")
    return 1 if worse else 0


def visit(owner) -> dict[str, tuple[int, float]]:
    """Return queries and median milliseconds of each page, by name."""
    from django.db import connection
    from django.test import Client

    from lifecycle.reminders.ticks import TICKS

    for tick in TICKS.values():
        tick(now=bench_garden.NOW)
    client = Client(headers={"host": "localhost"})
    client.force_login(owner.person)
    found = {}
    for name, path in pages(owner).items():
        response = client.get(path, follow=True)
        assert response.status_code == 200, (name, path, response.status_code)
        asked = Counter()
        with connection.execute_wrapper(asked):
            client.get(path)
        times = []
        for _ in range(ROUNDS):
            begun = time.perf_counter()
            client.get(path)
            times.append((time.perf_counter() - begun) * 1000)
        found[name] = (asked.number, statistics.median(times))
    return found


def pages(owner) -> dict[str, str]:
    """Return the address of every page of the garden, with the first row of each kind."""
    from lifecycle.models import Entry, Message, Place, Plant, Site, Task

    base = f"/g/{owner.garden.slug}"
    plant = Plant.objects.order_by("pk").first()
    place = Place.objects.filter(kind="quarters").order_by("pk").first()
    task = Task.objects.filter(plant=plant, state="open").order_by("pk").first()
    message = Message.objects.filter(channel="inbox", state="sent").order_by("pk").first()
    entry = Entry.objects.filter(plant=plant, kind="picked").order_by("pk").first()
    site = Site.objects.get()
    return {
        "Today": f"{base}/",
        "Beds": f"{base}/beds",
        "Bed": f"{base}/beds/{place.pk}",
        "Bed, log for several": f"{base}/beds/{place.pk}?several=1",
        "Plants": f"{base}/plants",
        "Plants, searched": f"{base}/plants?q=cay",
        "Plants, last page": f"{base}/plants?page=99999",
        "Plant": f"{base}/plants/{plant.code}",
        "Log": f"{base}/plants/{plant.code}/log/watered",
        "Move": f"{base}/plants/{plant.code}/move",
        "Add a plant": f"{base}/plants/add",
        "Sow": f"{base}/sow",
        "Entry": f"{base}/entries/{entry.pk}",
        "Tasks": f"{base}/tasks",
        "Task": f"{base}/tasks/{task.pk}",
        "Inbox": f"{base}/inbox",
        "Message": f"{base}/inbox/{message.pk}",
        "Site climate": f"{base}/sites/{site.pk}/climate",
        "More": f"{base}/more",
        "My settings": "/settings",
    }


if __name__ == "__main__":
    sys.exit(main())

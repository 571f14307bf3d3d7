"""A whole winter at four sites with sixty members: how often is anybody interrupted?

Run: .venv/bin/python benchmarks/alert_load.py [FIRST_DAY LAST_DAY [SEED]]
Watch, asks and dispatcher tick every half hour on days that matter. Fails when somebody is
interrupted twice on one day, in quiet hours but by the override, or woken three times a month.
"""

import statistics
import sys
import time
from collections import Counter
from datetime import date

import bench_garden

FIRST, LAST, SEED = date(2026, 11, 1), date(2027, 4, 1), 7
WAKINGS_A_MONTH = 2


def main() -> int:
    """Live through the winter and print what it cost people."""
    first, last = (date.fromisoformat(text) for text in sys.argv[1:3] or (f"{FIRST}", f"{LAST}"))
    bench_garden.start()
    from lifecycle.models import Ask, FrostNight, Person
    from tests.reminders.cold_season import Season, by_month, interruptions, most_in_a_day

    season = Season(seed=int(sys.argv[3]) if len(sys.argv) > 3 else SEED, first=first, last=last)
    began = time.perf_counter()
    season.live()
    took = time.perf_counter() - began
    found = interruptions()
    called = FrostNight.objects.filter(called_at__isnull=False).count()
    print(f"{first} to {last}: {Person.objects.count()} people, 4 sites, {season.ticks} ticks")
    print(f"nights called {called}, asks {Ask.objects.count()}, {took:.0f} s")
    print(f"{'month':10}{'messages':>10}{'people':>8}{'middle':>8}{'most':>6}{'woken, most':>13}")
    woken = by_month(each for each in found if each.level == "act_now")
    for month, counts in sorted(by_month(found).items()):
        most_woken = max(woken.get(month, Counter()).values(), default=0)
        print(
            f"{month:10}{sum(counts.values()):>10}{len(counts):>8}"
            f"{statistics.median(counts.values()):>8g}{max(counts.values()):>6}{most_woken:>13}"
        )
    quiet = [each for each in found if each.quiet]
    by_override = sum(each.level == "act_now" for each in quiet)
    most_woken = max((max(counts.values()) for counts in woken.values()), default=0)
    print(f"most a person and day: {most_in_a_day(found)}")
    print(f"in quiet hours: {len(quiet)}, by the override: {by_override}")
    kept = most_in_a_day(found) <= 1 and len(quiet) == by_override
    return 0 if kept and most_woken <= WAKINGS_A_MONTH else 1


if __name__ == "__main__":
    sys.exit(main())

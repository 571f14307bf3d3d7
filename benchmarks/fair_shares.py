"""Time a garden's week shared out among its people, and how near it comes to the bound.

Run: .venv/bin/python benchmarks/fair_shares.py [UNITS PEOPLE]
Weeks are made up: four skills, days away, minutes already had, offered minutes. Fails when one of
them takes two seconds or more, or is further from the bound than one piece of five minutes.
"""

import statistics
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from tests.agronomy.made_up_weeks import large_week

UNITS, PEOPLE = 500, 60
WEEKS = 20
MOST_SECONDS, MOST_GAP = 2.0, 5


def main() -> int:
    """Share out some weeks and print what it took."""
    units, people = (int(text) for text in sys.argv[1:3]) if len(sys.argv) > 2 else (UNITS, PEOPLE)
    times, gaps = [], []
    for seed in range(WEEKS):
        week = large_week(seed, units, people)
        began = time.perf_counter()
        found = week.shared()
        times.append(time.perf_counter() - began)
        gaps.append(found.gap)
    proven = sum(gap == 0 for gap in gaps)
    print(f"{WEEKS} weeks of {units} pieces of work and {people} people")
    print(f"seconds: middle {statistics.median(times):.2f}, most {max(times):.2f}")
    print(f"heaviest load proven least in {proven}; at most {max(gaps)} minutes above the bound")
    return 0 if max(times) < MOST_SECONDS and max(gaps) <= MOST_GAP else 1


if __name__ == "__main__":
    sys.exit(main())

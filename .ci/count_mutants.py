"""Counts the mutants of a run by module; fails when tests noticed fewer than 85 in 100."""

import re
import sys
from collections import Counter
from pathlib import Path

LEAST = 0.85
NOTICED = {"killed", "timeout", "segfault", "caught by type check"}
LINE = re.compile(r"^\s*(lifecycle\.[a-z_.]+)\.x[_ǁ]\S*: (.+)$")


def main(listing: Path) -> int:
    """Print noticed and all mutants by module, then the whole; return the exit status."""
    noticed: Counter[str] = Counter()
    made: Counter[str] = Counter()
    for line in listing.read_text().splitlines():
        found = LINE.match(line)
        if found is None or found[2] == "not checked":
            continue
        made[found[1]] += 1
        noticed[found[1]] += found[2] in NOTICED
    for module in sorted(made):
        share = noticed[module] / made[module]
        sys.stdout.write(f"{noticed[module]:5d} of {made[module]:5d}  {share:4.0%}  {module}\n")
    total = noticed.total() / made.total() if made else 0.0
    sys.stdout.write(f"{noticed.total():5d} of {made.total():5d}  {total:.1%}  in all\n")
    return 0 if total >= LEAST else 1


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1])))

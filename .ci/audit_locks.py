"""Asks for known weaknesses of everything the locks pin, and says plainly when nobody answered.

Ends with 1 for a known weakness. Where no advisories can be had, as on a machine without a way
out or behind an index that carries none, it says so and ends with 0: that is no clean bill.
"""

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).resolve().parents[1] / "requirements"
LOCKS = ("run", "dev")
SERVICES = ("pypi", "osv")


def audited(lock: str, service: str) -> list[dict[str, Any]] | None:
    """Return what the service says of each package of a lock; None when it cannot be asked."""
    command = [sys.executable, "-m", "pip_audit", "--require-hashes", "--disable-pip"]
    command += ["--progress-spinner", "off", "--format", "json", "--timeout", "15"]
    command += ["--vulnerability-service", service, "--requirement", str(FOLDER / f"{lock}.lock")]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    try:
        found: list[dict[str, Any]] = json.loads(done.stdout)["dependencies"]
    except (ValueError, KeyError):
        return None
    return found


def known_of(lock: str) -> tuple[list[str], int, int]:
    """Return the weaknesses of a lock, how many packages were looked up, and how many were not."""
    for service in SERVICES:
        found = audited(lock, service) or []
        looked_up = [each for each in found if "skip_reason" not in each]
        if looked_up:
            weak = [
                f"{each['name']} {each['version']}: {known['id']}, mended in "
                f"{', '.join(known['fix_versions']) or 'no release yet'}"
                for each in looked_up
                for known in each["vulns"]
            ]
            return weak, len(looked_up), len(found) - len(looked_up)
    return [], 0, 0


def report() -> tuple[list[str], bool]:
    """Return a sentence a lock and one a weakness, and whether there is any weakness."""
    lines: list[str] = []
    weak: list[str] = []
    for lock in LOCKS:
        known, looked_up, left_out = known_of(lock)
        weak += known
        if looked_up:
            said = f"{looked_up} packages looked up, {len(known)} known weaknesses"
            more = f"; {left_out} are known to no service" if left_out else ""
            lines.append(f"{lock}.lock: {said}{more}.")
        else:
            lines.append(f"{lock}.lock: NOT AUDITED. No service answered for any package.")
    return lines + weak, bool(weak)


if __name__ == "__main__":
    told, any_weak = report()
    sys.stdout.write("\n".join(told) + "\n")
    sys.exit(1 if any_weak else 0)

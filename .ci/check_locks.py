"""The locks name no address, pin everything by hash, and agree with each other."""

import re
import sys
from pathlib import Path

FOLDER = Path(__file__).resolve().parents[1] / "requirements"


def pins(name: str) -> dict[str, str]:
    """Return version by package of one lock."""
    text = (FOLDER / f"{name}.lock").read_text()
    return dict(re.findall(r"^([a-z0-9._-]+)==([^\s;]+)", text, re.MULTILINE))


def problems() -> list[str]:
    """Return one sentence for everything that is wrong with the locks."""
    found = []
    for path in sorted(FOLDER.glob("*.lock")):
        text = path.read_text()
        if "://" in text:
            found.append(f"{path.name} holds an address; renew it with make lock.")
        blocks = re.split(r"\n(?=\S)", text.strip())
        found += [
            f"{path.name} has no hash for {block.split()[0]}."
            for block in blocks
            if "--hash=sha256:" not in block
        ]
    # One environment serves both, so a difference would make each undo the other.
    dev = pins("dev")
    found += [
        f"run.lock has {name} {version} and dev.lock {dev.get(name, 'none')}."
        for name, version in pins("run").items()
        if dev.get(name) != version
    ]
    return found


if __name__ == "__main__":
    sys.exit("\n".join(problems()) or None)

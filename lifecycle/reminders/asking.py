"""Ask people for a frost night, one after the other."""

from datetime import datetime


def ask_all(*, now: datetime) -> int:
    """Take the next step of every ladder. Returns how many people were asked or told."""
    return 0

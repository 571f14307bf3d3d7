"""Fetch the forecasts that are due, one fetch an address whatever the number of sites."""

from datetime import datetime


def fetch_all(*, now: datetime) -> int:
    """Fetch what is due. Returns how many issues were kept."""
    return 0

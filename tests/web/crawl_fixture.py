"""One world for all the tests of a module.

The mark ``django_db`` of each test takes back what the test itself wrote.
"""

import logging
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pytest
import time_machine
from django.core.cache import cache
from django.db import transaction
from django.test import Client

from tests.factories import NOON
from tests.web.crawl_http import (
    Answer,
    Cells,
    Rows,
    all_rows,
    ask_and_keep,
    changed,
    client_of,
)
from tests.web.crawl_rows import both_gardens
from tests.web.crawl_table import READERS
from tests.web.crawl_world import Gardens


@dataclass(frozen=True)
class Desk:
    """Where forms are sent from: a client of each reader, and the rows as they were before."""

    gardens: Gardens
    clients: dict[str, Client]
    before: Rows

    def send(self, reader: str, action: str, data: Any) -> tuple[Answer, Cells]:
        """Send a form; return the answer and what it changed, which is taken back."""
        client = self.clients[reader]
        with transaction.atomic():
            answer = ask_and_keep(client, "POST", action, data)
            cells = changed(self.before, all_rows()) if answer.writes() else {}
            transaction.set_rollback(True)
        return answer, {cell: now for cell, now in cells.items() if cell[0] not in TRIES}


TRIES = frozenset({"django_session", "lifecycle_allowance", "axes_accessattempt"})
"""Tables that hold sessions, or count how often something was tried."""


@pytest.fixture(scope="module")
def desk(gardens: Gardens) -> Desk:
    """Return the desk; every session is begun before anything is compared."""
    clients = {reader: client_of(gardens, reader) for reader in READERS}
    return Desk(gardens, clients, all_rows())


@pytest.fixture(scope="module")
def gardens(django_db_setup: None, django_db_blocker: Any) -> Iterator[Gardens]:
    """Return the two gardens; nothing of them is left when the module is done."""
    refused = logging.getLogger("django.request")
    level = refused.level
    # Thousands of refusals are what is wanted here; what broke is in the answer.
    refused.setLevel(logging.CRITICAL + 1)
    with django_db_blocker.unblock(), time_machine.travel(NOON, tick=False):
        cache.clear()
        with transaction.atomic():
            yield both_gardens()
            transaction.set_rollback(True)
    refused.setLevel(level)

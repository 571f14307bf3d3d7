"""The crawl: every address, every reader, every method, with things of their own and of others."""

from collections import Counter

import pytest
from django.db import connection

from lifecycle.permissions import ROLE_ACTIONS
from tests.web.crawl_checks import bodies, leak, sweep, told_apart, written, wrong_status
from tests.web.crawl_fixture import gardens
from tests.web.crawl_http import addresses
from tests.web.crawl_table import GARDEN, READERS, ROLES, TABLE
from tests.web.crawl_world import Gardens

__all__ = ["gardens"]
CRAWLED_AS = READERS if connection.vendor == "sqlite" else ("outsider", "holder", "committee")
"""Who may do what is the same on every database: one of each sort will do on the second."""
PARTS = ("open", "a to l", "m to z")
"""The crawl of one reader in parts of about the same size, for two processes."""


def test_the_table_names_every_address_and_no_other() -> None:
    found = Counter(name for name, _ in addresses())
    assert not {name for name, times in found.items() if times > 1}, "an address has two meanings"
    assert set(found) - set(TABLE) == set(), "declare these addresses in crawl_table.py"
    assert set(TABLE) - set(found) == set(), "these addresses are gone"


def test_the_table_names_every_part_of_every_address() -> None:
    for name, pattern in addresses():
        if name in TABLE:
            declared = set(TABLE[name].names) - {"slug"}
            assert set(pattern.pattern.converters) == declared, name


def test_the_two_tables_of_roles_agree() -> None:
    assert dict(ROLE_ACTIONS) == ROLES


def part(which: str) -> list[str]:
    closed = [name for name, address in TABLE.items() if address.kind == GARDEN]
    if which == "open":
        return [name for name in TABLE if name not in closed]
    return [name for name in closed if (name < "m") == (which == "a to l")]


@pytest.mark.django_db
@pytest.mark.parametrize("which", PARTS)
@pytest.mark.parametrize("reader", CRAWLED_AS)
def test_every_answer_is_as_declared_and_tells_nobody_what_is_not_theirs(
    gardens: Gardens, reader: str, which: str
) -> None:
    asked = list(sweep(gardens, reader, part(which)))
    found = [
        problem
        for each in asked
        for problem in (wrong_status(each), leak(each, gardens), written(each), bodies(each))
        if problem
    ]
    found += told_apart(asked)
    assert not found, "\n".join(found)

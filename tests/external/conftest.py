"""Marks these tests, and lets them find their reader whatever the import mode."""

import sys
from pathlib import Path

import pytest

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark what lies in this folder as `external`."""
    for item in items:
        if HERE in item.path.parents:
            item.add_marker(pytest.mark.external)

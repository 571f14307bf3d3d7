"""docs/check-values.md lists every published check value, each with a test file that exists."""

import re
from collections import Counter
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
LIST = (ROOT / "docs" / "check-values.md").read_text("utf-8")
ROWS = [
    [cell.strip() for cell in line.strip("|").split("|")]
    for line in LIST.splitlines()
    if line.startswith("| ") and not line.startswith(("| row |", "| practice |"))
]
VALUES = [row for row in ROWS if row[0].isdigit()]
PRACTICES = [row for row in ROWS if not row[0].isdigit()]


def files(row: list[str]) -> list[str]:
    return re.findall(r"`([^`]+)`", row[-1])


def test_every_row_is_there_for_agronomy_and_for_climate() -> None:
    assert Counter(int(row[0]) for row in VALUES) == dict.fromkeys(range(1, 36), 2)
    assert [int(row[0]) for row in VALUES] == [*range(1, 36), *range(1, 36)]


def test_a_value_has_a_source_a_mark_and_a_test() -> None:
    for _number, checked, source, mark, test in VALUES:
        assert checked
        assert source
        assert set(mark.split(", ")) <= {"found", "memory", "run", "derived"}
        assert re.fullmatch(r"(`external/[a-z0-9_/]+\.py`(, )?)+", test)


def test_practices_say_what_carries_them() -> None:
    assert len(PRACTICES) > 30
    assert all(len(row) == 4 and row[1] for row in PRACTICES)


def test_every_test_file_exists() -> None:
    named = {row[0] + row[1]: files(row) for row in ROWS}
    assert all(named.values())
    for row, paths in named.items():
        assert not [path for path in paths if not (ROOT / "tests" / path).is_file()], row

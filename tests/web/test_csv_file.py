"""A table as CSV: text that looks like a formula is made harmless, and accents survive."""

import csv
import io

import pytest

from lifecycle.web.csv_file import csv_response, guarded


@pytest.mark.parametrize("begin", ["=", "+", "-", "@", "\t", "\r"])
def test_what_a_spreadsheet_would_run_gets_a_mark(begin: str) -> None:
    assert guarded(f"{begin}1+1") == f"'{begin}1+1"


@pytest.mark.parametrize("cell", ["Cayenne", "1 = 2", "", " =1", -5, 12])
def test_other_cells_stay_as_they_are(cell: str | int) -> None:
    assert guarded(cell) == cell


def test_a_table_reads_back_as_it_was() -> None:
    rows = [["Jalapeño, “green”", 3], ['say "hello"', -1], ["two\nlines", 0], ["=cmd()", 1]]
    response = csv_response("harvest-2025", ("what", "number"), rows)
    assert response["Content-Type"] == "text/csv; charset=utf-8"
    assert response["Content-Disposition"] == 'attachment; filename="harvest-2025.csv"'
    assert response.content.startswith("\ufeff".encode())
    text = io.StringIO(response.content.decode("utf-8-sig"), newline="")
    read = list(csv.reader(text))
    assert read == [
        ["what", "number"],
        ["Jalapeño, “green”", "3"],
        ['say "hello"', "-1"],
        ["two\nlines", "0"],
        ["'=cmd()", "1"],
    ]

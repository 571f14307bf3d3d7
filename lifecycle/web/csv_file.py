"""Tables as CSV that a spreadsheet opens safely."""

import csv
import io
from collections.abc import Iterable, Sequence
from typing import Any

from django.http import HttpResponse

_BEGINS_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n")


def csv_text(heads: Iterable[Any], rows: Iterable[Sequence[Any]]) -> str:
    """Return a table as CSV (RFC 4180) in which no cell begins like a formula."""
    text = io.StringIO()
    writer = csv.writer(text)
    writer.writerow([guarded(head) for head in heads])
    writer.writerows([guarded(cell) for cell in row] for row in rows)
    return text.getvalue()


def csv_response(
    name: str, heads: Sequence[str], rows: Iterable[Sequence[str | int]]
) -> HttpResponse:
    """Return a table as a file to keep, in UTF-8 with a mark that spreadsheets read it by."""
    response = HttpResponse(
        csv_text(heads, rows).encode("utf-8-sig"), content_type="text/csv; charset=utf-8"
    )
    response["Content-Disposition"] = f'attachment; filename="{name}.csv"'
    response["Cache-Control"] = "private, no-store"
    return response


def guarded(cell: Any) -> Any:
    """Return a cell that no spreadsheet takes for a formula: a mark goes before what begins one."""
    return f"'{cell}" if isinstance(cell, str) and cell.startswith(_BEGINS_FORMULA) else cell

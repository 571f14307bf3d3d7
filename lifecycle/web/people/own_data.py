"""A reader's own data as one file: a table each as CSV and as JSON, and a page that explains."""

import io
import json
import zipfile
from collections.abc import Iterable
from datetime import date, datetime
from textwrap import wrap
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from lifecycle.models import Person
from lifecycle.records.people.own_data import LEFT_OUT, TABLES, note_export, others_of
from lifecycle.records.people.own_data_words import code_words
from lifecycle.records.people.own_record_rows import MOST_ROWS, Row
from lifecycle.records.people.own_table import OwnTable
from lifecycle.web.csv_file import csv_text
from lifecycle.web.door import page, reader
from lifecycle.web.people.sure import sure


@require_http_methods(["GET", "HEAD", "POST"])
@sure
def export_me(request: HttpRequest) -> HttpResponse:
    """Say what the download holds; a POST makes it."""
    person = Person.objects.get(pk=reader(request).pk)
    if request.method != "POST":
        return page(request, "export_me.html", {"tables": TABLES, "left_out": LEFT_OUT})
    now = timezone.now()
    note_export(person, now=now)
    name = f"my-garden-data-{now:%Y-%m-%d}.zip"
    return HttpResponse(
        packed(person, now),
        content_type="application/zip",
        headers={"Content-Disposition": f'attachment; filename="{name}"'},
    )


def packed(person: Person, now: datetime) -> bytes:
    """Return the download; no table of it has more than MOST_ROWS rows."""
    file = io.BytesIO()
    scrubber = others_of(person)
    counts: dict[str, int] = {}
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        for table in TABLES:
            rows = list(table.rows(person, scrubber))
            counts[table.name] = len(rows)
            archive.writestr(f"{table.name}.csv", as_csv(table, rows))
            archive.writestr(f"{table.name}.json", as_json(rows))
        archive.writestr("README.txt", _readme(person, now, counts))
    return file.getvalue()


def as_csv(table: OwnTable, rows: Iterable[Row]) -> str:
    """Return rows as CSV; no cell begins like a formula."""
    return csv_text(table.columns, ([_cell(row[name]) for name in table.columns] for row in rows))


def as_json(rows: Iterable[Row]) -> str:
    """Return rows as JSON, as they are kept."""
    return json.dumps(list(rows), default=_plain, ensure_ascii=False, indent=1)


def _cell(value: Any) -> Any:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return _plain(value) if isinstance(value, date) else value


def _plain(value: Any) -> str:
    return value.isoformat() if isinstance(value, date) else str(value)


def _readme(person: Person, now: datetime, counts: dict[str, int]) -> str:
    lines = [
        f"What the garden record keeps of {person.name}, as of {now:%Y-%m-%d %H:%M} UTC.",
        "",
        "Each table comes twice: as .csv for a spreadsheet, and as .json exactly as it is kept.",
        "In the .csv files a quote mark stands before text that a spreadsheet could take for a",
        "formula. Days are days on the garden's own calendar; times are UTC. Other people stand",
        f"in it as “another member”. A table holds at most {MOST_ROWS} rows, the newest first.",
        *wrap(LEFT_OUT, 88),
    ]
    for table in TABLES:
        lines += ["", f"{table.name}: {table.holds}. Rows: {counts[table.name]}."]
        lines += [f"  {name}: {meaning}" for name, meaning in table.columns.items()]
    lines += ["", "Some columns hold codes. This is what they mean."]
    for column, codes in code_words().items():
        lines += ["", f"{column}:", *(f"  {code}: {words}" for code, words in codes.items())]
    return "\n".join([*lines, ""])

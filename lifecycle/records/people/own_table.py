"""What a table of somebody's own data is."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from lifecycle.models import Person
from lifecycle.records.people.name_words import Scrubber
from lifecycle.records.people.own_record_rows import Row

Rows = Callable[[Person, Scrubber], Iterator[Row]]


@dataclass(frozen=True, slots=True)
class OwnTable:
    """One table of the download: its file's name, what it holds, and its columns' meanings."""

    name: str
    holds: str
    columns: dict[str, str]
    rows: Rows

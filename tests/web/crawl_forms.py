"""Every form that the pages of a garden show to anybody, found by opening them all."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from tests.web.crawl_http import ask, client_of, path_of
from tests.web.crawl_table import GARDEN, INSIDERS, SIGNED_IN, TABLE
from tests.web.crawl_world import Gardens
from tests.web.page_forms import PageForm, forms_of

ALSO = {
    "bed": ("?several=1",),
    "feed-plant": ("?material={material}&use=hole&litres=1",),
    "symptom": ("?plant={plant}",),
    "task": ("?with={member}",),
    "tasks": ("?kind=cut_back",),
}
"""Pages that show other forms when asked in another way."""


@dataclass(frozen=True)
class Shown:
    """A form, and a reader to whom it is shown."""

    form: PageForm
    reader: str

    def __str__(self) -> str:
        return f"{self.reader}: {self.form}"


def shown_forms(gardens: Gardens, readers: Sequence[str] = INSIDERS) -> list[Shown]:
    """Return every form of every page, once, with the first of the readers to see it."""
    found: dict[tuple[object, ...], Shown] = {}
    for reader in readers:
        client = client_of(gardens, reader)
        for path in _pages(gardens):
            answer = ask(client, "GET", path)
            if answer.status != 200:
                continue
            for form in forms_of(answer.text, path):
                found.setdefault(form.key, Shown(form, reader))
    return list(found.values())


def _pages(gardens: Gardens) -> Iterator[str]:
    for name, address in TABLE.items():
        if address.kind in (GARDEN, SIGNED_IN) and "GET" in address.methods:
            path = path_of(name, gardens.own)
            yield path
            for more in ALSO.get(name, ()):
                yield path + more.format(**gardens.own.things)

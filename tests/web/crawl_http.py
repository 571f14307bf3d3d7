"""Asking every address as every reader, and comparing what comes back."""

import hashlib
import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from urllib.parse import quote

from django.apps import apps
from django.contrib.auth.hashers import BasePasswordHasher
from django.db import connection, reset_queries, transaction
from django.http import HttpResponse
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from lifecycle.web.people.sure import now_sure
from tests.factories import NOON
from tests.web.crawl_table import TABLE, WORDS, Address
from tests.web.crawl_world import NOWHERE_CODE, NOWHERE_PK, Gardens, Ground

_TOKEN = re.compile(
    r'(name="csrfmiddlewaretoken" value=")[^"]*|(nonce=")[^"]*|(\'nonce-)[^\']*|'
    r'(name="(?:[a-z_]+-)?uuid" value=")[^"]*'
)
_WRITES = re.compile(r'^\s*(INSERT INTO|UPDATE|DELETE FROM)\s+"?(\w+)"?(.*)', re.DOTALL)


@dataclass(frozen=True)
class Answer:
    """What came back: status, headers, text, the statements it took, and hashes of passwords."""

    path: str
    status: int
    headers: dict[str, str]
    text: str
    statements: tuple[str, ...]
    hashes: int = 0

    def everything(self) -> str:
        """Return all that a reader sees, without what they typed themselves."""
        said = "\n".join([self.text, *(f"{name}: {text}" for name, text in self.headers.items())])
        said = said.lower()
        for typed in (self.path, quote(self.path), quote(self.path, safe="")):
            said = said.replace(typed.lower(), "…")
        return said

    def alike(self) -> tuple[object, ...]:
        """Return what must be the same for what is there and for what is not."""
        return (
            self.status,
            _TOKEN.sub("…", self.text.replace(self.path, "…")),
            tuple(sorted(self.headers)),
            len(self.statements),
            self.hashes,
        )

    def writes(self) -> list[tuple[str, str]]:
        """Return the tables written to, with the statement."""
        found = (_WRITES.match(each) for each in self.statements)
        return [(match[2], match[0][:300]) for match in found if match]


def addresses() -> Iterator[tuple[str, URLPattern]]:
    """Walk the resolver: the name and the pattern of every address of the site."""
    yield from _walk(get_resolver())


def _walk(resolver: URLResolver) -> Iterator[tuple[str, URLPattern]]:
    for each in resolver.url_patterns:
        if isinstance(each, URLResolver):
            yield from _walk(each)
        else:
            yield str(each.name), each


def client_of(gardens: Gardens, who: str, **more: Any) -> Client:
    """Return a client of this reader, who has just shown who they are."""
    client = Client(raise_request_exception=False, **more)
    person = gardens.reader(who)
    if person is not None:
        client.force_login(person)
        be_sure(client)
    return client


def be_sure(client: Client, now: datetime = NOON) -> None:
    """Let this client's session have been asked again a moment ago."""
    session = client.session

    class Request:
        pass

    request = Request()
    request.session = session  # type: ignore[attr-defined]
    now_sure(request, now)  # type: ignore[arg-type]
    session.save()


def path_of(name: str, ground: Ground, slug: str | None = None, **other: Any) -> str:
    """Return the address with the things of a garden; ``slug`` and ``other`` overrule them."""
    address = TABLE[name]
    parts = {part: WORDS.get(thing, ground.things.get(thing)) for part, thing in _names(address)}
    if slug is not None and "slug" in parts:
        parts["slug"] = slug
    return reverse(name, kwargs=parts | other)


def nowhere(name: str, ground: Ground, slug: str | None = None) -> str:
    """Return the address with things that no garden has, at a slug."""
    missing = {
        part: _nothing(ground.things[thing])
        for part, thing in _names(TABLE[name])
        if thing not in WORDS and thing not in ("slug", "night", "task_year", "task_number")
    }
    return path_of(name, ground, slug, **missing)


def names_rows(name: str) -> bool:
    """Return whether the address names a row of a garden beside the garden itself."""
    return any(
        thing not in WORDS and thing not in ("slug", "night") for _, thing in _names(TABLE[name])
    )


def _names(address: Address) -> list[tuple[str, str]]:
    return list(address.names.items())


def _nothing(thing: Any) -> Any:
    if isinstance(thing, int):
        return NOWHERE_PK
    return NOWHERE_CODE if len(thing) == len(NOWHERE_CODE) else "A" * len(thing)


def ask(client: Client, method: str, path: str, data: Any = None, **more: Any) -> Answer:
    """Ask one address and note what it took; nothing it wrote stays."""
    counted = _Hashes()
    # The log of statements holds so many and no more.
    reset_queries()
    with transaction.atomic(), counted, CaptureQueriesContext(connection) as queries:
        answer = _ask(client, method, path, data, more)
        statements = tuple(each["sql"] for each in queries.captured_queries)
        transaction.set_rollback(True)
    return _noted(path, answer, statements, counted.number)


def ask_and_keep(client: Client, method: str, path: str, data: Any = None, **more: Any) -> Answer:
    """Ask one address; what it wrote stays."""
    reset_queries()
    with CaptureQueriesContext(connection) as queries:
        answer = _ask(client, method, path, data, more)
    return _noted(path, answer, tuple(each["sql"] for each in queries.captured_queries), 0)


def _ask(client: Client, method: str, path: str, data: Any, more: dict[str, Any]) -> HttpResponse:
    cookies = client.cookies.output()
    answer = getattr(client, method.lower())(path, data or {}, **more)
    # What one answer does to the session is no matter of the next question.
    client.cookies.clear()
    client.cookies.load(cookies.replace("Set-Cookie: ", ""))
    if getattr(answer, "streaming", False):
        answer._given = b"".join(answer.streaming_content)
    return answer


def _noted(path: str, answer: Any, statements: tuple[str, ...], hashes: int) -> Answer:
    body = getattr(answer, "_given", None)
    body = answer.content if body is None else body
    text = body.decode(errors="replace")
    if answer.exc_info is not None:
        text = f"{answer.exc_info[1]!r}\n{text}"
    # Savepoints are the test's own, or cost nothing.
    real = tuple(sql for sql in statements if "SAVEPOINT" not in sql)
    return Answer(path, answer.status_code, dict(answer.headers), text, real, hashes)


class _Hashes:
    """Counts how often a password is hashed."""

    def __enter__(self) -> "_Hashes":
        self.number = 0
        self._was = {each: each.encode for each in _hashers() if "encode" in vars(each)}
        for each, encode in self._was.items():
            each.encode = self._counting(encode)  # type: ignore[method-assign]
        return self

    def __exit__(self, *_: object) -> None:
        for each, encode in self._was.items():
            each.encode = encode  # type: ignore[method-assign]

    def _counting(self, encode: Any) -> Any:
        def counted(*args: Any, **kwargs: Any) -> Any:
            self.number += 1
            return encode(*args, **kwargs)

        return counted


def _hashers() -> list[type[BasePasswordHasher]]:
    found, left = [], [BasePasswordHasher]
    while left:
        found += left
        left = [child for each in left for child in each.__subclasses__()]
    return found


Rows = dict[tuple[str, Any], dict[str, str]]
Cells = dict[tuple[str, Any, str], str]


def all_rows() -> Rows:
    """Return every row of every table, column by column."""
    found: Rows = {}
    for model in apps.get_models(include_auto_created=True):
        columns = [each.attname for each in model._meta.concrete_fields]
        for values in model._base_manager.values_list("pk", *columns):
            shown = {name: repr(value) for name, value in zip(columns, values[1:], strict=True)}
            found[model._meta.db_table, values[0]] = shown
    return found


def changed(before: Rows, after: Rows) -> Cells:
    """Return what differs, by table, row and column; the whole row where it came or went."""
    cells: Cells = {}
    for row in before.keys() | after.keys():
        was, now = before.get(row, {}), after.get(row, {})
        for column in was.keys() | now.keys():
            if was.get(column) != now.get(column):
                cells[(*row, column)] = now.get(column, "gone")
    return cells


def digest(rows: Rows) -> str:
    """Return one number for a whole database."""
    return hashlib.sha256(repr(sorted(map(repr, rows.items()))).encode()).hexdigest()

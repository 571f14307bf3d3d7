"""What an answer may be, and what it may tell: the rules of the crawl."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from tests.web.crawl_http import Answer, ask, client_of, names_rows, nowhere, path_of
from tests.web.crawl_table import (
    ALWAYS_NOTED,
    GARDEN,
    METHODS,
    NOBODYS,
    NOT_BY_HEAD,
    ROLES,
    SECRET,
    SIGNED_IN,
    TABLE,
    Address,
)
from tests.web.crawl_world import Gardens

WRITTEN = frozenset({200, 302, 422})
"""What a form that says nothing is answered: shown again, refused, or done."""

NO_GARDEN = "no-such-garden"


@dataclass(frozen=True)
class Asked:
    """One address as one reader asked it.

    ``there``: what it names is where it is looked for. ``inside``: in a garden of the reader's.
    """

    name: str
    reader: str
    method: str
    there: bool
    inside: bool
    answer: Answer

    @property
    def garden(self) -> str:
        """The beginning of the addresses of its garden, or all of it."""
        return "/".join([*self.answer.path.split("/")[:3], ""])

    def __str__(self) -> str:
        return f"{self.name}: {self.reader} {self.method} {self.answer.path}"


def sweep(gardens: Gardens, reader: str, names: Iterable[str]) -> Iterator[Asked]:
    """Ask each address by every method, with the things of both gardens and with none."""
    for name in names:
        client = client_of(gardens, reader)
        for path, there, inside in ways(gardens, reader, name):
            for method in METHODS:
                yield Asked(name, reader, method, there, inside, ask(client, method, path))


def ways(gardens: Gardens, reader: str, name: str) -> Iterator[tuple[str, bool, bool]]:
    """Return the paths by which an address is asked.

    With each goes whether what it names is there, and whether the reader belongs to its garden.
    """
    address, own, foreign = TABLE[name], gardens.own, gardens.foreign
    at_home, abroad = reader not in NOBODYS, reader in ("outsider", "both")
    yield path_of(name, own), True, at_home
    if address.kind == SECRET:
        code = own.things[address.names["code"]]
        yield path_of(name, own, code="A" * len(code)), False, False
        yield path_of(name, own, code=foreign.things[address.names["code"]]), False, False
        yield nowhere(name, own), False, False
    if address.kind != GARDEN:
        return
    rows, slugs = names_rows(name), "slug" in address.names
    if rows:
        yield nowhere(name, own), False, at_home
    if slugs:
        yield path_of(name, own, NO_GARDEN), False, False
    if rows and slugs:
        yield path_of(name, foreign, own.garden.slug), False, at_home
        yield nowhere(name, foreign), False, abroad
    if slugs and (rows or not abroad):
        yield path_of(name, own, foreign.garden.slug), False, abroad
    if not abroad:
        yield path_of(name, foreign), False, False


def expected(asked: Asked, address: Address) -> frozenset[int]:
    """Return the statuses that are right."""
    reader, method, there = asked.reader, asked.method, asked.there
    if reader == "anonymous" and address.kind in (SIGNED_IN, GARDEN):
        return frozenset({302})
    if method not in address.methods:
        return frozenset({405})
    if address.kind == SECRET and not there:
        return frozenset({404})
    if address.kind == GARDEN:
        if reader in NOBODYS:
            return frozenset({404})
        hidden = not there or (bool(address.only) and reader not in address.only)
        if not may(reader, address.write if method == "POST" else address.read, address):
            return frozenset({403, 404}) if hidden else frozenset({403})
        if hidden:
            return frozenset({404})
    usual = WRITTEN if method == "POST" else frozenset({200})
    return address.says.get("GET" if method == "HEAD" else method, usual)


def may(reader: str, action: str, address: Address) -> bool:
    """Return whether the role of ``reader`` includes ``action``, or the row is their own."""
    role = {"holder": "member", "both": "owner"}.get(reader, reader)
    return action in ROLES[role] or reader in address.also


def wrong_status(asked: Asked) -> str:
    """Return what is wrong with the status, or ""."""
    answer, wanted = asked.answer, expected(asked, TABLE[asked.name])
    if answer.status in wanted:
        return ""
    broke = answer.text.split("\n", 1)[0][:200] if answer.status == 500 else ""
    return f"{asked}: {answer.status}, not {sorted(wanted)} {broke}"


def leak(asked: Asked, gardens: Gardens) -> str:
    """Return which word of a garden the answer tells to somebody outside, or ""."""
    reader, address = asked.reader, TABLE[asked.name]
    if address.kind == SECRET and asked.there:
        return ""
    others = [each for each in (gardens.own, gardens.foreign) if each.address != asked.garden]
    closed = {
        "outsider": [gardens.own],
        "anonymous": [gardens.own, gardens.foreign],
        "former": [gardens.own, gardens.foreign],
        # Who belongs to both must not find one garden's things under the other's address.
        "both": others if "slug" in address.names else [],
    }.get(reader, [gardens.foreign])
    said = asked.answer.everything()
    told = [word for ground in closed for word in ground.sentinels() if word in said]
    return f"{asked} tells {told}" if told else ""


def written(asked: Asked) -> str:
    """Return what a page wrote by being opened, or ""."""
    if asked.method not in ("GET", "HEAD"):
        return ""
    notes = TABLE[asked.name].notes
    noted = ALWAYS_NOTED | (notes if asked.method == "GET" else notes - NOT_BY_HEAD)
    wrote = [sql for table, sql in asked.answer.writes() if table not in noted]
    return f"{asked} wrote {wrote}" if wrote else ""


def bodies(asked: Asked) -> str:
    """Return what is wrong with an answer to HEAD, or ""."""
    return f"{asked} has a body" if asked.method == "HEAD" and asked.answer.text else ""


def told_apart(found: list[Asked]) -> list[str]:
    """Return where somebody can tell what is there from what is not, by an answer of any kind."""
    problems = []
    first: dict[tuple[str, str, str], Asked] = {}
    for asked in found:
        if TABLE[asked.name].kind not in (SECRET, GARDEN) or (asked.there and asked.inside):
            continue
        if TABLE[asked.name].kind == SECRET and asked.there:
            continue
        place = asked.garden if asked.inside else "outside"
        before = first.setdefault((asked.name, asked.method, place), asked)
        if before.answer.alike() != asked.answer.alike():
            problems.append(f"{before} and {asked} differ: {_difference(before, asked)}")
    return problems


def _difference(one: Asked, other: Asked) -> str:
    words = ("status", "text", "headers", "queries", "hashes")
    pairs = zip(words, one.answer.alike(), other.answer.alike(), strict=True)
    return ", ".join(f"{word} {a!r:.200} {b!r:.200}" for word, a, b in pairs if a != b)

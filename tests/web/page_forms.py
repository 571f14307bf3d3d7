"""The forms of a page as a browser reads them, and filling them in without knowing them."""

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from html.parser import HTMLParser
from urllib.parse import urljoin

from tests.factories import PASSWORD

BY_NAME = {
    "base_temp": "10",
    "depth_cm": "30",
    "height": "80",
    "latitude": "41.4",
    "longitude": "2.2",
    "low_c": "3",
    "maturity": "80",
    "minutes": "1:30",
    "new_password": "seven-wet-boots-in-a-row",
    "old_password": PASSWORD,
    "packed_year": "2025",
    "password": PASSWORD,
    "phone": "+44 20 7946 0000",
    "emergency_phone": "+44 20 7946 0000",
    "ready_night": "11",
    "singles": "1",
    "cool_from": "1 October",
    "warm_from": "12 May",
    "temperature_c": "8",
    "tmax_c": "9",
    "tmin_c": "2",
    "sprouted": "1",
}
"""What is typed into an empty field that not everything fits into, by its name."""

BY_KIND = {
    "date": "2026-10-14",
    "email": "somebody.new@post.example",
    "number": "2",
    "password": "seven-wet-boots-in-a-row",
    "tel": "+44 20 7946 0000",
    "time": "09:30",
}
"""What is typed into an empty field, by its type."""


@dataclass(frozen=True)
class Field:
    """One field of a form: what it holds now, and what may be chosen."""

    name: str
    kind: str
    values: tuple[str, ...] = ()
    options: tuple[str, ...] = ()
    hint: str = ""


@dataclass(frozen=True)
class PageForm:
    """One form as one of its buttons sends it."""

    page: str
    action: str
    method: str
    fields: tuple[Field, ...]
    button: tuple[str, str] | None = None

    @property
    def key(self) -> tuple[object, ...]:
        """What tells it from other forms: where it goes, its button, its fields."""
        return (
            self.action.partition("?")[0],
            self.button,
            tuple(each.name for each in self.fields),
        )

    def __str__(self) -> str:
        return f"{self.action} {self.button or ''} on {self.page}"

    def filled(self) -> dict[str, list[str]]:
        """Return what a browser would send once everything empty is filled in."""
        sent: dict[str, list[str]] = {}
        for each in self.fields:
            if each.name != "csrfmiddlewaretoken":
                sent.setdefault(each.name, []).extend(_filled(each))
        if self.button is not None:
            sent[self.button[0]] = [self.button[1]]
        return {name: values for name, values in sent.items() if values}


def _filled(each: Field) -> tuple[str, ...]:
    if any(each.values) or each.kind in ("hidden", "checkbox", "file"):
        return each.values
    if each.kind in ("select", "radio"):
        return tuple(value for value in each.options if value)[:1]
    named = each.name.rpartition("-")[2]
    if named in BY_NAME:
        return (BY_NAME[named],)
    if named.startswith("low_"):
        return ("5",)
    if each.hint in ("numeric", "decimal"):
        return ("2",)
    return (BY_KIND.get(each.kind, "Some words"),)


def forms_of(html: str, page: str) -> list[PageForm]:
    """Return every form of a page that is sent by POST, once a button."""
    reader = _Reader(page)
    reader.feed(html)
    reader.close()
    return [form for form in reader.forms() if form.method == "post"]


@dataclass
class _Open:
    action: str
    method: str
    fields: list[Field] = field(default_factory=list)
    buttons: list[tuple[str, str, str]] = field(default_factory=list)


class _Reader(HTMLParser):
    """Collects forms, with fields that stand elsewhere and name their form."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.page = page
        self.found: list[_Open] = []
        self.by_id: dict[str, _Open] = {}
        self.waiting: list[tuple[str, Field]] = []
        self.inside: _Open | None = None
        self.select: Field | None = None
        self.area: Field | None = None

    def forms(self) -> Iterator[PageForm]:
        """Return what was read."""
        for name, each in self.waiting:
            if name in self.by_id:
                self.by_id[name].fields.append(each)
        for form in self.found:
            fields = _merged(form.fields)
            for name, value, action in form.buttons or [("", "", "")]:
                address = urljoin(self.page, action or form.action)
                button = (name, value) if name else None
                yield PageForm(self.page, address, form.method, fields, button)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        if tag == "form":
            self.inside = _Open(given.get("action", ""), given.get("method", "get").lower())
            self.found.append(self.inside)
            self.by_id[given.get("id", "")] = self.inside
        elif tag == "input":
            self._input(given)
        elif tag == "button" and self.inside is not None:
            if given.get("type", "submit") == "submit":
                named = (given.get("name", ""), given.get("value", ""))
                self.inside.buttons.append((*named, given.get("formaction", "")))
        elif tag == "select":
            self.select = Field(given.get("name", ""), "select")
            self.owner = given.get("form", "")
        elif tag == "option" and self.select is not None:
            value = given.get("value", "")
            chosen = (value,) if "selected" in given else ()
            self.select = replace(
                self.select,
                options=(*self.select.options, value),
                values=(*self.select.values, *chosen),
            )
        elif tag == "textarea":
            self.area = Field(given.get("name", ""), "textarea", ("",))

    def handle_data(self, data: str) -> None:
        if self.area is not None:
            self.area = replace(self.area, values=(self.area.values[0] + data,))

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self.inside = None
        elif tag == "select" and self.select is not None:
            self._add(self.select, self.owner)
            self.select = None
        elif tag == "textarea" and self.area is not None:
            text = self.area.values[0].strip()
            self._add(replace(self.area, values=(text,) if text else ()), "")
            self.area = None

    def _input(self, given: dict[str, str]) -> None:
        kind, value = given.get("type", "text"), given.get("value", "")
        if kind in ("checkbox", "radio"):
            value = given.get("value", "on")
            chosen = (value,) if "checked" in given else ()
            found = Field(given.get("name", ""), kind, chosen, (value,))
        elif kind in ("submit", "button", "reset", "image"):
            return
        else:
            values = (value,) if value else ()
            found = Field(given.get("name", ""), kind, values, hint=given.get("inputmode", ""))
        self._add(found, given.get("form", ""))

    def _add(self, found: Field, owner: str) -> None:
        if not found.name:
            return
        if owner:
            self.waiting.append((owner, found))
        elif self.inside is not None:
            self.inside.fields.append(found)


def _merged(fields: list[Field]) -> tuple[Field, ...]:
    """Make one field of the radio buttons, or ticks, of one name."""
    found: dict[str, Field] = {}
    for each in fields:
        known = found.get(each.name)
        if known is None or each.kind not in ("radio", "checkbox"):
            found[each.name] = each
        else:
            found[each.name] = replace(
                known, values=known.values + each.values, options=known.options + each.options
            )
    return tuple(found.values())

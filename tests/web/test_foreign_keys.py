"""Every field of every form that names a row refuses the rows of others, and nonsense."""

import re
from collections.abc import Iterator
from unittest.mock import patch

import pytest
from django import forms
from django.urls import resolve

from lifecycle.models import Membership, Role
from lifecycle.web.forms.identity import PlantField
from tests.web.crawl_fixture import Desk, desk, gardens
from tests.web.crawl_forms import Shown, shown_forms
from tests.web.crawl_references import BY_FORM, NOT_READ, NOT_SENT, PEOPLE, PLAIN, QUIET, REFERENCES
from tests.web.crawl_world import FOREIGN, Gardens
from tests.web.page_forms import Field

__all__ = ["desk", "gardens"]
pytestmark = pytest.mark.django_db
NONSENSE = ("-1", "0", str(2**63), str(10**30), "x", "1.5", "\x00")
REFUSED = {403, 404, 422}

_LOOKS_LIKE_ONE = re.compile(r"(?:own:)?[0-9]+|[A-Z0-9]{6}")


@pytest.fixture(scope="module")
def shown(gardens: Gardens) -> list[Shown]:
    """Return every form, opened by whoever leads, and by whom things belong to."""
    return shown_forms(gardens, ("owner", "holder", "member"))


def address_of(form: Shown) -> str:
    """Return the name of the address that a form is sent to."""
    return resolve(re.split("[?#]", form.form.action)[0]).url_name or ""


def plain_name(name: str) -> str:
    """Return a field's name without its form's prefix, and without the row it stands for."""
    return re.sub(r"-[0-9]+$", "", name).rpartition("-")[2]


def named_by(form: Shown, field: Field) -> str | None:
    """Return the thing a field names; "" for one that names none, None: nobody has said."""
    name = plain_name(field.name)
    if (address_of(form), name) in BY_FORM:
        return BY_FORM[address_of(form), name]
    if name in REFERENCES:
        return REFERENCES[name]
    return "" if name in PLAIN else None


def references(shown: list[Shown]) -> Iterator[tuple[Shown, Field, str]]:
    for form in shown:
        for field in form.form.fields:
            thing = named_by(form, field)
            if thing:
                yield form, field, thing


def test_every_field_that_looks_like_the_number_of_a_row_is_declared(shown: list[Shown]) -> None:
    undeclared = {
        f"{field.name} of {form}"
        for form in shown
        for field in form.form.fields
        if field.kind in ("hidden", "select", "radio", "checkbox")
        and any(_LOOKS_LIKE_ONE.fullmatch(value) for value in (*field.values, *field.options))
        and named_by(form, field) is None
    }
    assert not undeclared, "declare in crawl_references.py:\n" + "\n".join(sorted(undeclared))


def test_every_field_that_looks_up_a_row_is_declared(desk: Desk, shown: list[Shown]) -> None:
    """Fields are taken from the forms themselves, so that those that take text are found too."""
    looked_up: set[str] = set()
    sent: set[str] = set()
    clean = forms.BaseForm.full_clean

    def noted(form: forms.BaseForm) -> None:
        if form.is_bound:
            sent.add(type(form).__name__)
        looked_up.update(
            name
            for name, field in form.fields.items()
            if isinstance(field, forms.ModelChoiceField | PlantField)
        )
        clean(form)

    with patch.object(forms.BaseForm, "full_clean", noted):
        for each in shown:
            desk.send(each.reader, each.form.action, each.form.filled())
    undeclared = {plain_name(name) for name in looked_up} - set(REFERENCES)
    assert not undeclared, "declare these fields in crawl_references.py"
    unsent = form_classes() - sent
    assert unsent == set(NOT_SENT), "the crawl sends these forms, or crawl_references.py says why"


def form_classes() -> set[str]:
    """Return every form of the pages that no other form is made of."""
    found: set[str] = set()
    left: list[type] = [forms.BaseForm]
    while left:
        kind = left.pop()
        left += kind.__subclasses__()
        if kind.__module__.startswith("lifecycle.web") and not kind.__subclasses__():
            found.add(kind.__name__)
    return found


def bad_values(gardens: Gardens, thing: str) -> list[str]:
    foreign = [str(gardens.foreign.things[thing])]
    if thing in PEOPLE:
        foreign += [str(gardens.own.things["former"]), str(gardens.foreign.things["former"])]
    return [*foreign, *NONSENSE]


def test_no_form_takes_a_row_of_another_garden(desk: Desk, shown: list[Shown]) -> None:
    found = list(references(shown))
    assert {thing for _, _, thing in found} >= set(REFERENCES.values())
    problems = []
    for form, field, thing in found:
        quiet = (address_of(form), plain_name(field.name)) in QUIET
        if (form.form.button or ("", ""))[1] in NOT_READ.get((address_of(form), field.name), ()):
            continue
        for bad in bad_values(desk.gardens, thing):
            data = form.form.filled() | {field.name: [bad]}
            answer, wrote = desk.send(form.reader, form.form.action, data)
            if wrote or (answer.status not in REFUSED and not quiet):
                tables = sorted({table for table, _, _ in wrote})
                broke = answer.text[:90] if answer.status == 500 else ""
                said = f"{answer.status} {broke}, wrote {tables}"
                problems.append(f"{form}: {field.name}={bad!r}: {said}")
            if FOREIGN.lower() in answer.text.lower():
                problems.append(f"{form}: {field.name}={bad!r} tells {FOREIGN}")
    assert not problems, "\n".join(problems)


def test_a_role_in_another_garden_counts_for_nothing_here(desk: Desk) -> None:
    """Who only reads here and leads elsewhere is nobody to give work or plants to."""
    both, own = desk.gardens.both, desk.gardens.own
    Membership.objects.filter(person=both, garden=own.garden).update(role=Role.COMMITTEE)
    for path in (
        f"{own.address}plants/{own.things['plant']}/hand-over",
        f"{own.address}beds/{own.bed.pk}/hand-over",
        f"{own.address}tasks/{own.things['task']}",
        f"{own.address}away",
        f"{own.address}week",
    ):
        text = desk.clients["coordinator"].get(path).content.decode()
        assert own.person("member").name in text, path
        assert both.name not in text, path

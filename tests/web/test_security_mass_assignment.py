"""Fields that a form does not have change nothing, whoever sends them along."""

import pytest

from lifecycle.models import Role
from tests.web.crawl_fixture import Desk, desk, gardens
from tests.web.crawl_forms import Shown, shown_forms
from tests.web.crawl_http import Cells
from tests.web.crawl_world import Gardens
from tests.web.page_forms import PageForm

__all__ = ["desk", "gardens"]
pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def shown(gardens: Gardens) -> list[Shown]:
    """Return every form, opened by those with the weakest roles first."""
    return shown_forms(gardens)


def junk(gardens: Gardens, form: PageForm) -> dict[str, str]:
    """Return columns that no form should set, bare and under each prefix of the form."""
    own, foreign = gardens.own.things, gardens.foreign.things
    people = dict.fromkeys(("person", "by", "assignee", "holder", "made_by", "giver"), own["owner"])
    wanted = {
        **people,
        **{f"{name}_id": number for name, number in people.items()},
        "role": Role.OWNER,
        "garden": foreign["garden_pk"],
        "garden_id": foreign["garden_pk"],
        "is_active": "",
        "is_staff": "on",
        "is_superuser": "on",
        "left_on": "2020-01-01",
        "email": "taken@over.example",
        "password": "taken-over-by-somebody",
        "session_nonce": "00000000-0000-0000-0000-000000000000",
        "nonce": "00000000-0000-0000-0000-000000000000",
        "state": "done",
        "pk": "1",
        "id": "1",
        "code": "AAAAAA",
        "slug": "taken-over",
        "invented": "on",
        "closed_at": "2020-01-01",
        "struck_at": "2020-01-01",
        "used_at": "2020-01-01",
        "expires_at": "2099-01-01",
        "raised_on": "2020-01-01",
        "now": "2020-01-01",
        "proposed": "on",
        "wakes": "on",
        "position": "9",
        "skills": "ladder",
    }
    fields = {each.name for each in form.fields}
    prefixes = {"", *(f"{name.rpartition('-')[0]}-" for name in fields if "-" in name)}
    sent = {f"{prefix}{name}": str(value) for prefix in prefixes for name, value in wanted.items()}
    button = {form.button[0]} if form.button else set()
    return {name: value for name, value in sent.items() if name not in fields | button}


def told(cells: Cells) -> dict[tuple[str, str], list[str]]:
    """What changed by table and column, in no order: new rows have new numbers each time."""
    found: dict[tuple[str, str], list[str]] = {}
    for (table, _, column), now in cells.items():
        if column != "id":
            found.setdefault((table, column), []).append(now)
    return {key: sorted(values) for key, values in found.items()}


def test_fields_a_form_does_not_have_change_nothing(desk: Desk, shown: list[Shown]) -> None:
    problems = []
    done = 0
    for each in shown:
        form, data = each.form, each.form.filled()
        answer, once = desk.send(each.reader, form.action, data)
        _, twice = desk.send(each.reader, form.action, data)
        more, cells = desk.send(each.reader, form.action, junk(desk.gardens, form) | data)
        first, second, third = told(once), told(twice), told(cells)
        # What differs between two times of the same is made by chance, such as a label's code.
        sure = {key for key in first.keys() | second.keys() if first.get(key) == second.get(key)}
        chance = (first.keys() | second.keys()) - sure
        differs = {key for key in first.keys() | third.keys() if first.get(key) != third.get(key)}
        if differs - chance or more.status != answer.status:
            said = {key: third.get(key) for key in differs - chance}
            problems.append(f"{each}: {answer.status} {more.status} {said}")
        done += bool(once)
    assert not problems, "\n".join(problems)
    # Most forms must have been filled in so that they were taken, or this tests nothing.
    assert done > 0.6 * len(shown)

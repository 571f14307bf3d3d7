"""Nothing of another garden in what is searched, narrowed, fed, exported or refused."""

import io
import zipfile

import pytest
from django.test import Client, override_settings

from tests.web.crawl_fixture import gardens
from tests.web.crawl_http import addresses, ask, client_of, path_of
from tests.web.crawl_table import GARDEN, TABLE, WORDS
from tests.web.crawl_world import FOREIGN, OWN, Gardens

__all__ = ["gardens"]
pytestmark = pytest.mark.django_db

ASKED: dict[str, dict[str, tuple[str, ...]]] = {
    "plants": {
        "q": (),
        "holder": ("holder", "former"),
        "place": ("place",),
        "state": (),
        "phase": (),
        "species": (),
        "sort": (),
        "page": (),
        "per_page": (),
    },
    "tasks": {"place": ("place",), "kind": (), "whose": (), "saved": ("entry",)},
    "bed": {"saved": ("entry",), "several": ()},
    "bed-hand-over": {"whose": ("holder", "former")},
    "hand-over-sheet": {"hand_over": ("hand_over",)},
    "symptoms": {"plant": ("plant", "neighbour")},
    "symptom": {"plant": ("plant", "neighbour")},
    "plant": {"saved": ("entry",), "struck": ("entry",)},
    "sowing": {"saved": ("entry",), "struck": ("entry",)},
    "today": {"saved": ("entry",), "struck": ("entry",)},
    "frost-night": {"bed": ("frost_bed",), "saved": ()},
    "inspect": {"saved": ("inspection",)},
    "overnight-low": {"back": ()},
    "week": {"pick": (), "drafted": ()},
    "feed-plant": {"material": ("material",)},
    "task": {"with": ("holder", "former")},
    "seeds": {"plants": (), "soil_c": ()},
    "people": {"sort": (), "page": ()},
}
"""What pages take from the address behind the question mark, and the things that may be named."""

TYPED = (FOREIGN, FOREIGN[:5], "zb-2958", "-1", "0", str(2**63), str(10**30), "x", "\x00", "%")


@pytest.mark.parametrize("page", ASKED)
def test_no_parameter_brings_up_another_garden(gardens: Gardens, page: str) -> None:
    client = client_of(gardens, "owner")
    path = path_of(page, gardens.own)
    for name, things in ASKED[page].items():
        for value in (*(gardens.foreign.things[thing] for thing in things), *TYPED):
            answer = ask(client, "GET", path, {name: value})
            assert answer.status in (200, 302, 404, 422), (page, name, value, answer.text[:200])
            said = answer.everything().replace(f'value="{str(value).lower()}"', "")
            assert FOREIGN.lower() not in said.replace(str(value).lower(), ""), (page, name, value)


def test_the_number_of_a_foreign_row_changes_no_list(gardens: Gardens) -> None:
    """Narrowed by what the garden does not have, a list answers as for a number nobody has."""
    client = client_of(gardens, "both")
    for page, parameters in ASKED.items():
        path = path_of(page, gardens.own)
        for name, things in parameters.items():
            for thing in things:
                foreign = ask(client, "GET", path, {name: gardens.foreign.things[thing]})
                said = foreign.text.lower()
                assert FOREIGN.lower() not in said.replace("zanderby plant", "…"), (page, name)


def test_numbers_out_of_range_are_not_there(gardens: Gardens) -> None:
    client = client_of(gardens, "owner")
    problems = []
    for name, pattern in addresses():
        address = TABLE[name]
        if address.kind != GARDEN or "GET" not in address.methods:
            continue
        for part, converter in pattern.pattern.converters.items():
            if type(converter).__name__ != "IntConverter":
                continue
            for number in (0, 2**31, 2**63, 10**40):
                path = path_of(name, gardens.own, **{part: number})
                answer = ask(client, "GET", path)
                wanted = {404} if address.names[part] not in WORDS else {200, 302, 404}
                if answer.status not in wanted:
                    problems.append(f"{name} {part}={number}: {answer.status} {answer.text[:90]}")
    assert not problems, "\n".join(problems)


def test_a_calendar_names_nobody_else_and_no_garden_that_was_left(gardens: Gardens) -> None:
    own, foreign = gardens.own, gardens.foreign
    calendar = ask(Client(), "GET", path_of("calendar", own))
    assert calendar.status == 200
    assert OWN in calendar.text
    assert FOREIGN not in calendar.text
    for who, member in own.people.items():
        if who != "holder":
            assert member.person.name not in calendar.text
        assert member.person.email not in calendar.text
    assert own.digits not in calendar.text
    holder = own.people["holder"]
    type(holder).objects.filter(pk=holder.pk).update(left_on="2026-10-14")
    left = ask(Client(), "GET", path_of("calendar", own))
    assert OWN not in left.text
    assert foreign.mark not in left.text


@pytest.mark.parametrize("reader", ["holder", "former", "outsider"])
def test_an_export_tells_of_nobody_else(gardens: Gardens, reader: str) -> None:
    answer = client_of(gardens, reader).post(path_of("export-me", gardens.own))
    assert answer.status_code == 200
    told = _unpacked(answer.getvalue())
    person = gardens.reader(reader)
    assert person is not None
    assert person.email in told
    for ground in (gardens.own, gardens.foreign):
        for member in ground.people.values():
            if member.person_id != person.pk:
                assert member.person.name not in told
                assert member.person.email not in told
                assert member.person.phone == "" or member.person.phone not in told
    if reader != "outsider":
        assert FOREIGN not in told
    for code in ("calendar_code", "stop_code", "ask_code", "join_code", "invitation_code"):
        assert gardens.own.things[code] not in told


def _unpacked(body: bytes) -> str:
    with zipfile.ZipFile(io.BytesIO(body)) as archive:
        return "\n".join(archive.read(name).decode() for name in archive.namelist())


def test_a_label_tells_nothing_to_those_outside(gardens: Gardens) -> None:
    """Signed out every code has one answer; signed in, one that is not theirs is not there."""
    known, unknown = f"/p/{gardens.own.things['plant']}", "/p/222222"
    for reader, status in (("anonymous", 302), ("outsider", 404), ("former", 404)):
        client = client_of(gardens, reader)
        one, other = ask(client, "GET", known), ask(client, "GET", unknown)
        assert one.status == other.status == status
        assert one.alike() == other.alike()
        assert OWN.lower() not in one.everything()


@override_settings(DEBUG=False)
def test_error_pages_tell_nothing(gardens: Gardens) -> None:
    for reader in ("anonymous", "outsider", "former", "both"):
        client = client_of(gardens, reader)
        client.raise_request_exception = False
        slug = gardens.own.garden.slug
        answers = [
            ask(client, "GET", "/sign-in", HTTP_HOST="elsewhere.example"),
            ask(client, "GET", "/nowhere"),
            ask(client, "GET", f"/g/{slug}/nowhere"),
            ask(client, "DELETE", "/healthz"),
            ask(client, "POST", f"/g/{slug}/plants"),
            ask(client, "POST", "/sign-in", CONTENT_LENGTH=str(2**40)),
            ask(client, "POST", "/sign-in", {"username": "\x00"}),
        ]
        found = [answer.status for answer in answers]
        assert found[:4] == [400, 404, 404, 405], found
        assert found[4] == (302 if reader == "anonymous" else 405)
        assert found[5] == 413
        for answer in answers:
            closed = {OWN.lower()} if reader == "outsider" else {OWN.lower(), FOREIGN.lower()}
            for word in (*closed, "traceback", "lifecycle/web", "site-packages"):
                assert word not in answer.everything(), (reader, answer.path, word)

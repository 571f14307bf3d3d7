"""Opening pages changes nothing, and what only leads may see stays with them."""

import pytest
from django.test import Client

from lifecycle.web.people.sure import KEY
from tests.web.crawl_fixture import gardens
from tests.web.crawl_http import Cells, all_rows, ask_and_keep, changed, client_of, digest, path_of
from tests.web.crawl_table import GARDEN, INSIDERS, OPEN, SECRET, SIGNED_IN, TABLE
from tests.web.crawl_world import Gardens

__all__ = ["gardens"]
pytestmark = pytest.mark.django_db

NOTED = {
    ("lifecycle_message", "read_at"),
    ("lifecycle_calendaraddress", "read_at"),
    ("lifecycle_auditnote", "*"),
    ("lifecycle_calendaritem", "*"),
}
"""What opening a page notes: that a message or a calendar was read, and who looked at contacts."""


def opened(gardens: Gardens, reader: str, *, secrets: bool) -> Cells:
    """Open every page there is by GET and by HEAD, and return what is different then."""
    client = client_of(gardens, reader)
    before = all_rows()
    for name, address in TABLE.items():
        if "GET" in address.methods and (secrets or address.kind != SECRET):
            path = path_of(name, gardens.own)
            for method in ("GET", "HEAD"):
                ask_and_keep(client, method, path)
    return changed(before, all_rows())


@pytest.mark.parametrize("reader", ["anonymous", "outsider", "member", "holder", "owner"])
def test_opening_every_page_changes_nothing(gardens: Gardens, reader: str) -> None:
    cells = opened(gardens, reader, secrets=True)
    tables = {(table, column) for table, _, column in cells if table != "django_session"}
    left = {cell for cell in tables if cell not in NOTED and (cell[0], "*") not in NOTED}
    assert not left


def test_opening_pages_that_note_nothing_leaves_every_byte(gardens: Gardens) -> None:
    client = client_of(gardens, "committee")
    before = digest(all_rows())
    for name, address in TABLE.items():
        if "GET" in address.methods and address.kind in (OPEN, GARDEN) and not address.notes:
            ask_and_keep(client, "GET", path_of(name, gardens.own))
    assert digest(all_rows()) == before


def test_the_digest_sees_one_changed_word(gardens: Gardens) -> None:
    before = all_rows()
    site = gardens.own.site
    type(site).objects.filter(pk=site.pk).update(name="Another bank")
    assert digest(before) != digest(all_rows())
    assert set(changed(before, all_rows())) == {("lifecycle_site", site.pk, "name")}


LEADS = {"coordinator", "owner"}
CONTACTS_SHOWN = {
    "more": "whom to ask",
    "hand-over-sheet": "whom to ask",
    "settings": "one's own",
    "my-membership": "one's own",
    "sign-in-again": "one's own",
    "change-password": "one's own",
    "erase-me": "one's own",
    "person": "one's own",
    "allow-push": "one's own",
}
"""Pages that show a contact to members who do not lead, and whose."""


@pytest.mark.parametrize("reader", [each for each in INSIDERS if each not in LEADS])
def test_contacts_are_for_those_who_lead(gardens: Gardens, reader: str) -> None:
    own = gardens.own
    client = client_of(gardens, reader)
    others = [member.person for who, member in own.people.items() if who != reader]
    secret = [f"{own.mark} kin".lower()]
    secret += [word.lower() for each in others for word in (each.email, each.phone) if word]
    secret += [each.emergency_phone for who, each in own.people.items() if who != reader]
    for name, address in TABLE.items():
        if "GET" not in address.methods or address.kind not in (GARDEN, SIGNED_IN):
            continue
        if name in CONTACTS_SHOWN:
            continue
        answer = ask_and_keep(client, "GET", path_of(name, own))
        said = answer.everything()
        assert not [word for word in secret if word in said], name


@pytest.mark.parametrize("reader", ["anonymous", "outsider", "former", *INSIDERS])
def test_sensitive_pages_ask_again_whether_or_not_they_are_there(
    gardens: Gardens, reader: str
) -> None:
    """Whoever is not sure gets one answer for every garden, and for gardens that are none."""
    client = client_of(gardens, reader)
    if reader != "anonymous":
        session = client.session
        session.pop(KEY)
        session.save()
    for name, address in TABLE.items():
        if not address.sure:
            continue
        for slug in (gardens.own.garden.slug, gardens.foreign.garden.slug, "no-such-garden"):
            path = path_of(name, gardens.own, slug)
            for method in sorted(address.methods - {"HEAD"}):
                answer = ask_and_keep(client, method, path)
                assert answer.status == 302, (name, slug, method)
                where = "/sign-in?" if reader == "anonymous" else "/sign-in/again?"
                assert answer.headers["Location"].startswith(where), (name, slug, method)


def test_pages_that_are_not_declared_sensitive_do_not_ask_again(gardens: Gardens) -> None:
    client = client_of(gardens, "owner")
    session = client.session
    session.pop(KEY)
    session.save()
    for name, address in TABLE.items():
        if address.kind in (GARDEN, SIGNED_IN) and "GET" in address.methods and not address.sure:
            answer = ask_and_keep(client, "GET", path_of(name, gardens.own))
            assert "/sign-in/again" not in answer.headers.get("Location", ""), name


def test_health_pages_tell_no_more_than_a_monitor_needs(gardens: Gardens) -> None:
    for path in ("/healthz", "/readyz", "/manifest.webmanifest", "/push-worker.js"):
        answer = ask_and_keep(Client(), "GET", path)
        for ground in (gardens.own, gardens.foreign):
            assert not [word for word in ground.sentinels() if word in answer.everything()], path

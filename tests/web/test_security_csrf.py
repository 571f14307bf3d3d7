"""Forms are taken from pages of this site only; programs have their own addresses."""

import pytest

from tests.web.crawl_fixture import gardens
from tests.web.crawl_http import addresses, ask, client_of, path_of
from tests.web.crawl_table import INSIDERS, TABLE
from tests.web.crawl_world import Gardens

__all__ = ["gardens"]
EXEMPT = {"ask", "sensor", "unsubscribe"}
"""What a mail program or a thermometer sends to, with a secret code and without a cookie."""


def test_only_addresses_of_programs_take_a_form_without_its_token() -> None:
    assert {name for name, address in TABLE.items() if address.exempt} == EXEMPT
    found = {
        name for name, pattern in addresses() if getattr(pattern.callback, "csrf_exempt", False)
    }
    assert found == EXEMPT


@pytest.mark.django_db
@pytest.mark.parametrize("reader", ["anonymous", *INSIDERS])
def test_no_form_is_taken_without_its_token(gardens: Gardens, reader: str) -> None:
    client = client_of(gardens, reader, enforce_csrf_checks=True)
    for name, address in TABLE.items():
        for method in ("POST", "PUT", "DELETE"):
            answer = ask(client, method, path_of(name, gardens.own))
            if name in EXEMPT:
                assert answer.status != 403, name
                continue
            wanted = {403} if method in address.methods else {403, 405}
            assert answer.status in wanted, (name, method, answer.status)
            assert not answer.writes(), (name, method)


@pytest.mark.django_db
def test_a_form_sent_by_another_site_is_refused_even_with_a_token(gardens: Gardens) -> None:
    client = client_of(gardens, "holder", enforce_csrf_checks=True)
    client.get("/settings")
    token = client.cookies["csrftoken"].value
    for header in ({"HTTP_ORIGIN": "https://elsewhere.example"}, {"HTTP_ORIGIN": "null"}):
        answer = ask(client, "POST", "/settings", {"csrfmiddlewaretoken": token}, **header)
        assert answer.status == 403, header
    answer = ask(client, "POST", "/settings", {"csrfmiddlewaretoken": token})
    assert answer.status in (302, 422)

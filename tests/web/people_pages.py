"""What the tests of people's pages share."""

from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from lifecycle.web.people.sure import KEY
from tests.factories import NOON


def made_sure(client: Client) -> Client:
    """Return the client as somebody who showed a moment ago who they are."""
    session = client.session
    session[KEY] = NOON.timestamp()
    session.save()
    return client


def queries_of(client: Client, address: str) -> int:
    """Return how many queries a page costs."""
    with CaptureQueriesContext(connection) as queries:
        assert client.get(address).status_code == 200
    return len(queries)

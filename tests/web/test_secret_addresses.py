"""The log holds no address that opens something by itself."""

import logging

import pytest
from django.test import Client

from garden_site.secret_addresses import SecretsLeftOut

SECRET = "Zq3xW8vN2rT6yB1mK4pL7sD9"


@pytest.mark.parametrize(
    "path",
    [
        f"/a/12/{SECRET}",
        f"/i/12/{SECRET}",
        f"/join/12/{SECRET}",
        f"/u/12/frost/{SECRET}",
        f"/sensor/12/{SECRET}?low=3",
        f"/calendar/12/{SECRET}.ics",
        f"/sign-in/l/12/{SECRET}",
    ],
)
def test_a_secret_is_written_as_dots(path: str) -> None:
    record = logging.LogRecord(
        "django.request", logging.WARNING, __file__, 1, "%s: %s", ("Not Found", path), None
    )
    assert SecretsLeftOut().filter(record)
    assert SECRET not in record.getMessage()
    assert record.getMessage() == f"Not Found: /{path.split('/')[1]}/…"


def test_other_lines_stay_as_they_are() -> None:
    record = logging.LogRecord("any", 20, __file__, 1, "%d plants at %s", (3, "/g/a/i/b"), None)
    SecretsLeftOut().filter(record)
    assert record.getMessage() == "3 plants at /g/a/i/b"


@pytest.mark.django_db
def test_what_django_logs_of_a_dead_link_holds_no_secret(
    caplog: pytest.LogCaptureFixture,
) -> None:
    caplog.handler.addFilter(SecretsLeftOut())
    with caplog.at_level(logging.WARNING, "django.request"):
        assert Client().get(f"/i/12/{SECRET}").status_code == 404
    assert "Not Found: /i/…" in caplog.text
    assert SECRET not in caplog.text

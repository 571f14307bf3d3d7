"""Text and HTML of a message: the same words, nothing fetched, nothing injected."""

import re
from html.parser import HTMLParser
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lifecycle.models import Garden, Message, Person
from lifecycle.reminders.messages.composing import SHORT_LENGTH, Composed, Line
from lifecycle.reminders.messages.mail_head import head, message_id
from lifecycle.reminders.messages.mail_parts import (
    SUBJECT_LENGTH,
    as_document,
    as_fragment,
    as_text,
    short_text,
    subject_line,
    write,
)
from tests.factories import NOON

LINES = (
    Line("Northfield, Wednesday 14 October"),
    Line("Lift: <b>Cayenne</b> & co", heading=True),
    Line("Between 1 and 20 October."),
    Line("What to do", "https://beds.example/g/north?a=1&b=2"),
)


class Reader(HTMLParser):
    """Reads the words and the links of a page, its head left out."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.words: list[str] = []
        self.links: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        self.links += [value for name, value in attrs if name == "href" and value]

    def handle_data(self, data: str) -> None:
        if self.tags and self.tags[-1][0] not in ("title", "style"):
            self.words += data.split()


def a_message(**more: Any) -> Message:
    garden = Garden(name="Northfield", slug="northfield", pk=3)
    person = Person(name="Ada", email="ada@garden.example", pk=7)
    columns: dict[str, Any] = {
        **{"key": "due:3:7:2026-10-14:email", "channel": "email", "kind": "due"},
        **{"for_day": NOON.date(), "garden": garden, "person": person, **more},
    }
    return Message(**columns)


def test_the_text_is_as_it_should_be() -> None:
    assert as_text(LINES) == (
        "Northfield, Wednesday 14 October\n"
        "\n"
        "Lift: <b>Cayenne</b> & co\n"
        "Between 1 and 20 October.\n"
        "What to do: https://beds.example/g/north?a=1&b=2\n"
    )


def test_the_html_is_as_it_should_be() -> None:
    assert as_fragment(LINES) == (
        "<p>Northfield, Wednesday 14 October</p>\n"
        "<h2>Lift: &lt;b&gt;Cayenne&lt;/b&gt; &amp; co</h2>\n"
        "<p>Between 1 and 20 October.</p>\n"
        '<p><a href="https://beds.example/g/north?a=1&amp;b=2">What to do</a></p>'
    )


def test_a_mail_has_one_heading_a_language_and_nothing_to_fetch() -> None:
    page = as_document("Frost & fleece", LINES)
    read = Reader(page)
    assert page.startswith('<!doctype html>\n<html lang="en">')
    assert [tag for tag, _ in read.tags].count("h1") == 1
    assert not {tag for tag, _ in read.tags} & {"img", "script", "link", "iframe", "style"}
    assert not [attrs for _, attrs in read.tags if "src" in attrs or "background" in attrs]
    assert "<title>Frost &amp; fleece</title>" in page


lines = st.lists(
    st.builds(Line, text=st.text(min_size=1, max_size=40), heading=st.booleans()), max_size=6
)


@given(lines)
def test_both_parts_say_the_same(given_lines: list[Line]) -> None:
    def plain(text: str) -> list[str]:
        return re.sub(r"[\x00-\x1f\x7f-\x9f]", " ", text).split()

    text = as_text(given_lines)
    assert plain(" ".join(Reader(as_fragment(given_lines)).words)) == plain(text)


@given(st.text(max_size=400))
def test_a_subject_is_one_short_line(text: str) -> None:
    subject = subject_line(Composed(subject=text, lines=(), short=""))
    assert len(subject) <= SUBJECT_LENGTH
    assert len(subject.splitlines()) <= 1
    assert not re.search(r"[\x00-\x1f\x7f-\x9f]", subject)


def test_a_line_break_in_a_name_begins_no_header() -> None:
    message = a_message()
    message.garden.name = "North\r\nBcc: all@elsewhere.example"
    composed = Composed(f"{message.garden.name}: frost", LINES, "")
    write(message, composed)
    assert message.subject == "North Bcc: all@elsewhere.example: frost"
    assert "\nBcc" not in message.body
    assert not [value for value in head(message).values() if "\n" in value or "\r" in value]


@pytest.mark.parametrize(
    ("short", "shown"),
    [
        ("Frost\ntonight", "Frost tonight"),
        ("x" * SHORT_LENGTH, "x" * SHORT_LENGTH),
        ("x" * (SHORT_LENGTH + 1), "x" * (SHORT_LENGTH - 1) + "…"),
    ],
)
def test_the_short_form_is_cut_where_it_must(short: str, shown: str) -> None:
    message = a_message(channel="push")
    write(message, Composed("Subject", LINES, short))
    assert (message.body, message.html) == (shown, "")
    assert short_text(Composed("", (), short)) == shown


def test_on_the_page_there_is_no_foot() -> None:
    message = a_message(channel="inbox")
    write(message, Composed("Subject", LINES, ""))
    assert message.body == as_text(LINES)
    assert message.html == as_fragment(LINES)


def test_a_mail_says_why_it_came_and_how_to_stop_it(settings: Any) -> None:
    settings.SITE_URL = "https://beds.example"
    message = a_message()
    write(message, Composed("Subject", LINES, ""))
    stop = head(message)["List-Unsubscribe"].strip("<>")
    assert stop.startswith("https://beds.example/u/7/due/")
    for part in (
        "You belong to Northfield, and you get: what is due",
        "https://beds.example/settings",
    ):
        assert part in message.body
    assert stop in message.body
    assert stop in Reader(message.html).links
    assert "demonstration" not in message.body
    message.garden.invented = True
    write(message, Composed("Subject", LINES, ""))
    assert "This is an invented demonstration garden." in message.body


def test_the_head_of_a_mail(settings: Any) -> None:
    settings.SITE_URL, settings.HTTPS = "https://beds.example:8443", True
    message = a_message()
    found = head(message)
    stop = found.pop("List-Unsubscribe")
    assert re.fullmatch(r"<https://beds\.example:8443/u/7/due/[A-Za-z0-9_-]{24}>", stop)
    assert found == {
        "Message-ID": message_id(message),
        "Auto-Submitted": "auto-generated",
        "List-Id": "<northfield.beds.example>",
        "List-Unsubscribe-Post": "List-Unsubscribe=One-Click",
    }
    settings.HTTPS = False
    assert "List-Unsubscribe-Post" not in head(message)


def test_the_same_key_has_the_same_message_id(settings: Any) -> None:
    settings.SITE_URL = "https://beds.example"
    first = message_id(a_message())
    assert first == "<e463428f831f6c7f526b14517a1d0ca8@beds.example>"
    assert message_id(a_message(key="another")) != first


def test_one_frost_night_is_one_conversation_for_each_person() -> None:
    ask, change = a_message(data={"night": 5}), a_message(key="k", data={"night": 5})
    other_night, other_person = a_message(data={"night": 6}), a_message(data={"night": 5})
    other_person.person_id = 8
    first = head(ask)["References"]
    assert first == head(ask)["In-Reply-To"] == head(change)["References"]
    assert first not in (message_id(ask), head(other_night)["References"])
    assert first != head(other_person)["References"]
    assert "References" not in head(a_message())


def test_what_the_reader_asked_for_cannot_be_stopped() -> None:
    message = a_message(about="test", kind="lead")
    assert "List-Unsubscribe" not in head(message)
    write(message, Composed("Subject", LINES, ""))
    assert "Stop e-mails" not in message.body

"""Names, addresses and numbers are taken out of words, and nothing else is."""

import pytest

from lifecycle.records.people.name_words import FORMER, Known, Scrubber

ANA = Known(["Ana Ruiz O'Hara"], ["ana@garden.example"], ["+34 600 123 456"])
ROSE = Known(["Rose"], [], ["12"])
SHORT = Known([], [], ["123456"])
DATED = Known([], [], ["2026 10 14", "20261014", "2026 2027", "1234567"])
SMALL = Known(["do not"], [], [])


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("Ana Ruiz O'Hara watered.", "Former member watered."),
        ("Seen by ANA RUIZ O'HARA.", "Seen by former member."),
        ("Seen by Ana\n Ruiz O'Hara today", "Seen by former member today"),
        ("<b>Ana Ruiz O&#x27;Hara</b>", "<b>Former member</b>"),
        ("Ask ana@garden.example!", "Ask former member!"),
        ("Ask Ana@Garden.Example", "Ask former member"),
        ("Call +34 600 123 456.", "Call former member."),
        ("Call 0034 600-123-456", "Call former member"),
        ("Call 600123456", "Call former member"),
        ("Call (600) 123.456 or wait", "Call (former member or wait"),
    ],
)
def test_what_says_who_is_meant_goes(text: str, said: str) -> None:
    assert Scrubber([ANA], FORMER).out_of(text, own_words=False) == said


@pytest.mark.parametrize(
    "text",
    [
        "Ana watered.",
        "Ruiz O'Hara's shed",
        "Mariana Ruiz O'Haras",
        "diana@garden.example",
        "ana@garden.example.org-x",
        "91600123456789",
        "Bed 12 with 12 plants",
        "Rose hips and Rosemary",
    ],
)
def test_what_may_mean_something_else_stays(text: str) -> None:
    assert Scrubber([ANA, ROSE], FORMER).out_of(text, own_words=False) == text


def test_a_name_of_one_word_goes_from_what_the_site_wrote() -> None:
    scrubber = Scrubber([ROSE], FORMER)
    assert scrubber.out_of("Rose left. Ask Rose, not Rosemary or rose.", own_words=True) == (
        "Former member left. Ask former member, not Rosemary or rose."
    )


def test_structures_are_walked() -> None:
    kept = {"Rose": ["by Rose", 3, None, {"at": "Rose"}]}
    found = Scrubber([ROSE], FORMER).out_of_structure(kept, own_words=True)
    assert found == {"Rose": ["by former member", 3, None, {"at": "Former member"}]}


@pytest.mark.parametrize(
    "text",
    [
        "Do not enter. You do not need it.",
        "It is put off to {2026-10-14}, not 14.10.2026.",
        "Sown 2026-10-14 12:00, 20261014, seasons 2026-2027 and 2026/2027",
        "Weighs 1234567.5 g or 0.1234567, lot A1234567, 12345678",
        "Label 123456",
    ],
)
def test_a_hostile_name_or_number_takes_nothing_out(text: str) -> None:
    scrubber = Scrubber([SHORT, DATED, SMALL], FORMER)
    assert scrubber.out_of(text, own_words=False) == text


def test_a_number_of_seven_digits_is_one() -> None:
    scrubber = Scrubber([DATED], FORMER)
    assert scrubber.out_of("Call 123-45 67!", own_words=False) == "Call former member!"


def test_the_site_writes_a_name_as_its_bearer_does() -> None:
    scrubber = Scrubber([Known(["ana ruiz"], [], [])], FORMER)
    assert scrubber.out_of("Ask ana ruiz.", own_words=True) == "Ask former member."
    assert scrubber.out_of("Ask Ana Ruiz.", own_words=False) == "Ask former member."


def test_nobody_known_changes_nothing() -> None:
    assert Scrubber([Known(["", " "], [""], [""])], FORMER).out_of("Rose", own_words=True) == "Rose"

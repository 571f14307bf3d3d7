"""Names, addresses and numbers are taken out of words, and nothing else is."""

import pytest

from lifecycle.records.people.name_words import FORMER, Known, Scrubber

ANA = Known(["Ana Ruiz O'Hara"], ["ana@garden.example"], ["+34 600 123 456"])
ROSE = Known(["Rose"], [], ["12"])


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
    assert found == {"Former member": ["by former member", 3, None, {"at": "Former member"}]}


def test_nobody_known_changes_nothing() -> None:
    assert Scrubber([Known(["", " "], [""], [""])], FORMER).out_of("Rose", own_words=True) == "Rose"

"""What the pages are made of: style, markup, charts."""

import re
from collections.abc import Callable
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from django.test import Client

from lifecycle.life.fold import Fact, fold
from lifecycle.life.kinds import Kind
from lifecycle.web import (
    charts,
    words,
)
from tests.conftest import World
from tests.web.pages import pages_of

STYLE = Path(__file__).resolve().parents[2] / "templates/lifecycle/style.css"
TOKENS = dict(re.findall(r"--([a-z0-9-]+):(#[0-9A-F]{3,6})", STYLE.read_text()))


def luminance(colour: str) -> float:
    digits = colour.lstrip("#")
    digits = "".join(each * 2 for each in digits) if len(digits) == 3 else digits
    parts = [int(digits[at : at + 2], 16) / 255 for at in (0, 2, 4)]
    linear = [
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    ]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    low, high = sorted((luminance(TOKENS[one]), luminance(TOKENS[other])))
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize(
    ("one", "other", "least"),
    [
        ("ink", "ground", 7),
        ("ink", "wash", 7),
        ("ink-2", "ground", 7),
        ("action", "ground", 7),
        ("ink", "urgent-wash", 7),
        ("urgent", "ground", 4.5),
        ("rule", "ground", 3),
        ("ink", "focus", 3),
        ("cold", "ground", 3),
        ("green", "ground", 3),
        ("rest", "ground", 3),
        ("heat", "ground", 3),
    ],
)
def test_tokens_keep_their_contrast(one: str, other: str, least: float) -> None:
    assert contrast(one, other) >= least


def test_style_sheet_stays_small() -> None:
    assert STYLE.stat().st_size <= 14 * 1024


def test_every_page_keeps_to_the_policy(world: World, as_person: Callable[..., Client]) -> None:
    """No script, no inline style, one heading, a language, a skip link, unique ids."""
    pages = pages_of(world)
    client = as_person(world.owner)
    for name, address in {**pages.read, **pages.write}.items():
        answer = client.get(address)
        if answer.status_code == 404:
            continue
        text = answer.content.decode()
        assert "<script" not in text, name
        assert not re.search(r"\s(style|on[a-z]+)=", text), name
        assert text.count("<h1>") == 1, name
        assert '<html lang="en">' in text, name
        assert 'href="#main"' in text, name
        ids = re.findall(r'\sid="([^"]+)"', text)
        assert len(ids) == len(set(ids)), (name, ids)
        nonce = re.search(r'<style nonce="([^"]+)"', text)
        assert nonce, name
        assert f"'nonce-{nonce[1]}'" in answer["Content-Security-Policy"], name
        assert len(answer.content) <= 60_000, name


def life_of(*facts: tuple[Kind, date]) -> object:
    at = datetime(2020, 1, 1, tzinfo=UTC)
    return fold(
        "plant",
        [
            Fact(number, kind, day, at, choice="bearing" if kind is Kind.INHERITED else "")
            for number, (kind, day) in enumerate(facts)
        ],
    )


def test_year_strip_draws_a_row_a_year_and_says_the_same_in_words() -> None:
    life = life_of(
        (Kind.INHERITED, date(2023, 5, 1)),
        (Kind.PICKED, date(2024, 8, 1)),
        (Kind.ENDED, date(2025, 3, 1)),
    )
    drawn = charts.year_strip(life, "A <b>", 7, date(2026, 1, 1))
    assert [year for year in ("2025", "2024", "2023", "2022") if f">{year}<" in drawn] == [
        "2024",
        "2023",
        "2022",
    ]
    assert "A &lt;b&gt;" in drawn
    assert charts.strip_sentence(life) == "So far picked once."
    assert charts.strip_rows(life)[0] == ("Ended", date(2025, 3, 1), None)


def test_scale_begins_with_the_growing_year() -> None:
    scale = charts.Scale(7)
    assert scale.of_month_day("07-01") == 0
    assert scale.of_month_day("06-30") == pytest.approx(364 / 365)
    assert [name for _, name in scale.months()][:2] == ["Jul", "Aug"]


@pytest.mark.parametrize(
    ("best", "latest", "said"),
    [
        (date(2026, 10, 1), date(2026, 10, 12), "2 days late"),
        (date(2026, 10, 1), date(2026, 10, 13), "1 day late"),
        (date(2026, 10, 1), date(2026, 10, 14), "last day today"),
        (date(2026, 10, 14), date(2026, 10, 20), "due now, by 20 October"),
        (date(2026, 10, 16), date(2027, 1, 2), "best 16 October, by 2 January 2027"),
    ],
)
def test_due_in_words(best: date, latest: date, said: str) -> None:
    assert words.due_words(best, latest, date(2026, 10, 14)) == said


@pytest.mark.parametrize(
    ("day", "said"),
    [
        (date(2026, 10, 14), "today"),
        (date(2026, 10, 13), "yesterday"),
        (date(2026, 10, 4), "10 days ago"),
        (date(2026, 9, 1), "on 1 September"),
        (date(2025, 9, 1), "on 1 September 2025"),
    ],
)
def test_ago_in_words(day: date, said: str) -> None:
    assert words.ago(day, date(2026, 10, 14)) == said

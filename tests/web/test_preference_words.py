"""The sentences that say what a person gets: every wanted thing, and nothing else."""

from itertools import product

import pytest

from lifecycle.models import Message
from lifecycle.web.forms.preferences import DAYS
from lifecycle.web.messages.preference_words import summary

NAMED = {
    "frost": "frost messages at any time before 21:00",
    "due": "one message in the morning when something is due",
    "week": "the week ahead on ",
    "handed": "work that is handed or offered to you",
    "lead": "notices of gaps and failures",
}
EVERY = [dict(zip(NAMED, each, strict=True)) for each in product((True, False), repeat=5)]


def said(email: dict[str, bool], push: dict[str, bool], **more: bool) -> tuple[str, str, str]:
    """Return the sentences about e-mail, push messages and the night."""
    wanted = {kind: {"email": email[kind], "push": push[kind]} for kind in NAMED}
    given = {"day": 6, "hour": 18, "devices": True, "leads": True, **more}
    first, second, third, rest = summary(wanted, **given).split(".")
    assert rest == ""
    return first, second, third


@pytest.mark.parametrize("leads", [True, False])
@pytest.mark.parametrize("email", EVERY)
def test_each_sentence_names_what_is_wanted_and_nothing_else(
    email: dict[str, bool], leads: bool
) -> None:
    for push in EVERY:
        by_email, by_push, night = said(email, push, leads=leads)
        for kind, words in NAMED.items():
            comes = leads or kind != "lead"
            assert (words in by_email) is (email[kind] and comes), (kind, by_email)
            assert (words in by_push) is (push[kind] and comes), (kind, by_push)
        assert ("except" in night) is (email["frost"] or push["frost"])


NOTHING = dict.fromkeys(NAMED, False)


@pytest.mark.parametrize("push", EVERY)
def test_without_a_device_no_push_message_is_promised(push: dict[str, bool]) -> None:
    assert said(NOTHING, push, devices=False) == (
        "You get no e-mail",
        " You get no push messages",
        " Nothing at night",
    )


def test_the_sentences_read_well() -> None:
    wanted = {kind: {"email": kind != "lead", "push": kind == "frost"} for kind in NAMED}
    assert summary(wanted, day=6, hour=18, devices=True, leads=True) == (
        "By e-mail you get the week ahead on Sunday at 18:00, one message in the morning when "
        "something is due, work that is handed or offered to you, and frost messages at any time "
        "before 21:00. By push message you get frost messages at any time before 21:00. Nothing "
        "at night, except when you are on call and asked to be woken."
    )


def test_two_things_are_joined_without_a_comma() -> None:
    email = NOTHING | {"week": True, "lead": True}
    assert said(email, NOTHING)[0] == (
        "By e-mail you get the week ahead on Sunday at 18:00 and notices of gaps and failures"
    )


@pytest.mark.parametrize("day", range(7))
@pytest.mark.parametrize(("hour", "clock"), [(7, "07:00"), (20, "20:00")])
def test_day_and_hour_of_the_weekly_message(day: int, hour: int, clock: str) -> None:
    wanted = {kind: {"email": kind == "week", "push": False} for kind in Message.Kind.values}
    text = summary(wanted, day=day, hour=hour, devices=False, leads=False)
    assert text.startswith(f"By e-mail you get the week ahead on {DAYS[day]} at {clock}. ")

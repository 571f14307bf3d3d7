"""Inviting from a list: each line is read by itself, and each that fails says why."""

import pytest
from django.core.exceptions import PermissionDenied

from lifecycle.models import AuditNote, Invitation, Letter, Role
from lifecycle.records.people.invitation_list import MOST_ROWS, Report, invite_list
from lifecycle.records.refusal import Refused
from tests.conftest import World
from tests.factories import NOON
from tests.records.invitations import ADDRESS, an_invitation


def sent(world: World, text: str) -> Report:
    return invite_list(world.coordinator, text, now=NOON)


@pytest.mark.parametrize(
    ("line", "name"),
    [
        (ADDRESS, ""),
        (f"Anna Berg, {ADDRESS}", "Anna Berg"),
        (f"{ADDRESS},Anna Berg", "Anna Berg"),
        (f"Anna Berg; {ADDRESS};", "Anna Berg"),
        (f"Anna Berg\t{ADDRESS}", "Anna Berg"),
        (f'"Berg, Anna",{ADDRESS}', "Berg, Anna"),
        (f'"Berg, Anna";"{ADDRESS}"', "Berg, Anna"),
        (f"Anna Berg <{ADDRESS.upper()}>", "Anna Berg"),
        (f'"Berg, Anna" <{ADDRESS}>,', "Berg, Anna"),
        (f"<{ADDRESS}>", ""),
        (f"  Anna   Berg ,  {ADDRESS}  ", "Anna Berg"),
    ],
)
def test_ways_to_write_a_line(world: World, line: str, name: str) -> None:
    report = sent(world, line)
    assert report.problems == []
    [made] = report.invited
    assert (made.email, made.name, made.role, made.place) == (ADDRESS, name, Role.MEMBER, None)


@pytest.mark.parametrize("heads", ["name,e-mail", "E-Mail", "Name;Address", "\ufeffName\tEmail"])
@pytest.mark.parametrize("newline", ["\n", "\r\n", "\r"])
def test_column_heads_and_line_ends(world: World, heads: str, newline: str) -> None:
    text = newline.join([heads, "Anna,a@new.example", "", ", ;", "Ben,b@new.example"])
    report = sent(world, text)
    assert [made.email for made in report.invited] == ["a@new.example", "b@new.example"]
    assert report.problems == []


def test_each_line_that_fails_says_what_and_what_instead(world: World) -> None:
    an_invitation(world.coordinator, "invited@new.example")
    lines = [
        "Good, good@new.example",
        "Nobody at all",
        "Anna, anna at new.example",
        "Anna, anna@new",
        "a@new.example, b@new.example",
        "Berg, Anna, anna@new.example",
        "GOOD@new.example",
        world.member.person.email,
        "invited@new.example",
        f"{'x' * 61}, long@new.example",
    ]
    report = sent(world, "\n".join(lines))
    assert [made.email for made in report.invited] == ["good@new.example"]
    found = {problem.number: problem for problem in report.problems}
    wrong = {
        2: "No address",
        3: "No address",
        4: "“anna@new” is not an e-mail address",
        5: "Several addresses",
        6: "More than a name and an address",
        7: "stands in line 1",
        8: "belongs to the garden already",
        9: "was invited already",
        10: "61 characters",
    }
    assert found.keys() == wrong.keys()
    for number, words in wrong.items():
        assert words in found[number].wrong
        assert found[number].instead
        typed = lines[number - 1]
        assert found[number].seen in (typed, f"{typed[:79]}…")
    assert found[6].instead == "Write it as Berg Anna, anna@new.example."
    # What only has to be left out does not come back; the rest does, as it was typed.
    mended = [lines[number - 1] for number in (2, 3, 4, 5, 6, 10)]
    assert report.to_mend == "\n".join(mended)


def test_sending_a_list_twice_invites_nobody_twice(world: World) -> None:
    text = "a@new.example\nb@new.example"
    sent(world, text)
    report = sent(world, text)
    assert report.invited == []
    assert ["was invited already" in problem.wrong for problem in report.problems] == [True, True]
    assert Letter.objects.count() == 2
    assert AuditNote.objects.filter(act="invited").count() == 1


@pytest.mark.parametrize("text", ["", "  \n\t\n,;\n", "name,address\n"])
def test_an_empty_list(world: World, text: str) -> None:
    with pytest.raises(Refused) as refused:
        sent(world, text)
    assert refused.value.field == "people"


def test_two_hundred_lines_and_not_one_more(world: World) -> None:
    lines = [f"person{number}@new.example" for number in range(MOST_ROWS + 1)]
    with pytest.raises(Refused, match="201 lines"):
        sent(world, "\n".join(lines))
    assert not Invitation.objects.exists()
    assert len(sent(world, "\n".join(lines[:MOST_ROWS])).invited) == MOST_ROWS
    assert Letter.objects.count() == MOST_ROWS


def test_lines_beyond_the_letters_of_a_day_come_back(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("lifecycle.records.people.invitation_letters.LETTERS_OF_A_GARDEN", 2)
    lines = [f"Person {number}, p{number}@new.example" for number in range(4)]
    report = sent(world, "\n".join(lines))
    assert [made.email for made in report.invited] == ["p0@new.example", "p1@new.example"]
    assert [problem.number for problem in report.problems] == [3, 4]
    assert "mailed 2 invitations within a day" in report.problems[0].wrong
    assert report.to_mend == "\n".join(lines[2:])
    assert Letter.objects.count() == Invitation.objects.count() == 2


def test_nothing_is_half_written(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    def breaks(*args: object, **kwargs: object) -> None:
        raise RuntimeError

    monkeypatch.setattr("lifecycle.records.people.invitation_list.audit.note", breaks)
    with pytest.raises(RuntimeError):
        sent(world, "a@new.example\nb@new.example")
    assert not Invitation.objects.exists()
    assert not Letter.objects.exists()


@pytest.mark.parametrize(
    "line", ['"', '"a', "<>", "<", "@", "@,@", "\x00", "=cmd|' /C calc'!A0", "é" * 9000]
)
def test_rubbish_is_a_line_that_fails(world: World, line: str) -> None:
    report = sent(world, f"good@new.example\n{line}")
    assert [made.email for made in report.invited] == ["good@new.example"]
    assert len(report.problems) <= 1


@pytest.mark.parametrize("role", ["member", "committee"])
def test_only_who_leads(world: World, role: str) -> None:
    with pytest.raises(PermissionDenied):
        invite_list(getattr(world, role), "a@new.example", now=NOON)

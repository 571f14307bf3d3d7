"""Keys and tools: the list, taking out, bringing back, and who may do what."""

from datetime import timedelta

import pytest
from django.core.exceptions import PermissionDenied

from lifecycle.models import Tool, ToolLoan
from lifecycle.records.ground.shed import (
    add_tool,
    bring_back,
    edit_tool,
    out_now,
    out_with,
    retire_tool,
    take_out,
)
from lifecycle.records.refusal import Refused
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, SiteFactory

pytestmark = pytest.mark.django_db
LATER = NOON + timedelta(hours=3)


def a_tool(world: World, name: str = "Loppers 1", **more: str) -> Tool:
    given = {"kind": "tool", "kept_in": "Shed", "note": "", **more}
    return add_tool(world.coordinator, world.site, name=name, **given)


def test_a_tool_is_listed_taken_out_and_brought_back(world: World) -> None:
    tool = a_tool(world, "  Key   of the shed ", kind="key")
    assert (tool.name, tool.kind, tool.kept_in) == ("Key of the shed", "key", "Shed")
    loan = take_out(world.member, tool, now=NOON)
    assert out_now(tool) == loan
    assert list(out_with(world.member.person, world.garden.pk)) == [loan]
    back = bring_back(world.member, loan, now=LATER)
    assert (back.out_at, back.back_at) == (NOON, LATER)
    assert out_now(tool) is None
    assert not out_with(world.member.person, world.garden.pk)


def test_taking_out_and_bringing_back_twice_are_once(world: World) -> None:
    tool = a_tool(world)
    loan = take_out(world.member, tool, now=NOON)
    assert take_out(world.member, tool, now=LATER) == loan
    bring_back(world.member, loan, now=LATER)
    again = bring_back(world.member, loan, now=LATER + timedelta(1))
    assert again.back_at == LATER
    assert ToolLoan.objects.count() == 1


def test_who_comes_second_is_told_who_has_it(world: World) -> None:
    tool = a_tool(world)
    take_out(world.member, tool, now=NOON)
    with pytest.raises(Refused, match=r"Member has Loppers 1 since 14 October\. Ask them"):
        take_out(world.owner, tool, now=LATER)


def test_only_who_has_it_or_keeps_the_list_brings_it_back(world: World) -> None:
    tool = a_tool(world)
    loan = take_out(world.member, tool, now=NOON)
    another = MembershipFactory(garden=world.garden)
    for who in (another, world.committee):
        with pytest.raises(PermissionDenied):
            bring_back(who, loan, now=LATER)
    assert bring_back(world.coordinator, loan, now=LATER).back_at == LATER


def test_who_only_reads_takes_nothing_out(world: World) -> None:
    with pytest.raises(PermissionDenied):
        take_out(world.committee, a_tool(world), now=NOON)


def test_only_who_leads_keeps_the_list(world: World) -> None:
    tool = a_tool(world)
    given = {"kind": "tool", "name": "Spade", "kept_in": "", "note": ""}
    with pytest.raises(PermissionDenied):
        add_tool(world.member, world.site, **given)
    with pytest.raises(PermissionDenied):
        edit_tool(world.member, tool, **given)
    with pytest.raises(PermissionDenied):
        retire_tool(world.member, tool, now=NOON)


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"name": " "}, "name"),
        ({"name": "x" * 61}, "name"),
        ({"kind": "car"}, "kind"),
        ({"kept_in": "x" * 81}, "kept_in"),
        ({"note": "x" * 201}, "note"),
    ],
)
def test_what_cannot_be_listed(world: World, wrong: dict[str, str], field: str) -> None:
    given = {"kind": "tool", "name": "Spade", "kept_in": "", "note": "", **wrong}
    with pytest.raises(Refused) as refused:
        add_tool(world.owner, world.site, **given)
    assert refused.value.field == field


def test_a_name_stands_once_on_a_list(world: World) -> None:
    a_tool(world)
    other = a_tool(world, "Spade")
    with pytest.raises(Refused, match="on the list of Canal bank already"):
        a_tool(world)
    given = {"kind": "tool", "kept_in": "", "note": ""}
    with pytest.raises(Refused, match="already"):
        edit_tool(world.owner, other, name="Loppers 1", **given)
    assert edit_tool(world.owner, other, name="Fork", **given).name == "Fork"
    elsewhere = SiteFactory(garden=world.garden)
    assert add_tool(world.owner, elsewhere, name="Loppers 1", **given).site == elsewhere


def test_what_is_gone_is_gone_and_its_name_is_free(world: World) -> None:
    tool = a_tool(world)
    loan = take_out(world.member, tool, now=NOON)
    with pytest.raises(Refused, match="Member has Loppers 1 still"):
        retire_tool(world.owner, tool, now=NOON)
    bring_back(world.member, loan, now=NOON)
    assert retire_tool(world.owner, tool, now=LATER).gone_on == NOON.date()
    assert retire_tool(world.owner, tool, now=LATER + timedelta(9)).gone_on == NOON.date()
    with pytest.raises(Refused, match="not on the list any more"):
        take_out(world.member, tool, now=LATER)
    assert a_tool(world).pk != tool.pk
    assert ToolLoan.objects.count() == 1


def test_a_tool_of_another_garden_is_refused(world: World) -> None:
    tool = a_tool(world)
    stranger = MembershipFactory(role="owner")
    with pytest.raises(Refused, match="does not belong"):
        take_out(stranger, tool, now=NOON)
    with pytest.raises(Refused, match="does not belong"):
        retire_tool(stranger, tool, now=NOON)
    with pytest.raises(Refused, match="does not belong"):
        add_tool(stranger, world.site, kind="tool", name="Fork", kept_in="", note="")
    loan = take_out(world.member, tool, now=NOON)
    with pytest.raises(Refused, match="does not belong"):
        bring_back(stranger, loan, now=NOON)

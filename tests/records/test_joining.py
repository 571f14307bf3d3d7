"""The garden's own link, its waiting list, and the settings that open and close them."""

from datetime import date, datetime, timedelta

import pytest
from django.core.exceptions import PermissionDenied

from lifecycle.models import (
    AuditNote,
    Garden,
    Invitation,
    Joining,
    Letter,
    Membership,
    WaitingPerson,
)
from lifecycle.records.people.garden_settings import TEXT_LENGTH, change_garden
from lifecycle.records.people.invitation_letters import LETTERS_A_DAY
from lifecycle.records.people.invitations import link_path
from lifecycle.records.people.join_link import ask_to_join, end_link, garden_of, join_path, new_link
from lifecycle.records.people.waiting import (
    add_waiting,
    ask_to_wait,
    invite_waiting,
    remove_waiting,
    still_waiting,
)
from lifecycle.records.refusal import Refused
from lifecycle.reminders.people.letters import send_letters
from tests.conftest import World
from tests.factories import NOON, MembershipFactory
from tests.records.invitations import ADDRESS, an_invitation

TODAY = NOON.date()


def choose(world: World, **more: object) -> list[str]:
    garden = Garden.objects.get(pk=world.garden.pk)
    keys = ("name", "joining", "waiver", "safety", "hours_ledger")
    return change_garden(
        world.owner, **{**{key: getattr(garden, key) for key in keys}, **more}, now=NOON
    )


def opened(world: World, joining: Joining = Joining.OPEN) -> Garden:
    choose(world, joining=joining)
    return Garden.objects.get(pk=world.garden.pk)


def answered(now: datetime = NOON) -> int:
    """Let the next dispatch find out who asked; return how many letters it sent."""
    return send_letters(now=now)


def found_at(path: str) -> Garden | None:
    _, _, pk, code = path.split("/")
    return garden_of(int(pk), code)


def ask(garden: Garden, email: str = ADDRESS, **more: object) -> None:
    ask_to_join(garden, **{"name": "Anna", "email": email, "now": NOON, **more})


def wait(garden: Garden, email: str = ADDRESS, **more: object) -> None:
    ask_to_wait(garden, **{"name": "Anna", "email": email, "note": "", "now": NOON, **more})


def test_settings_change_and_only_their_keys_are_noted(world: World) -> None:
    changed = choose(world, name=" Southfield ", safety="Hats on.\r\n\r\nGloves on. \n")
    assert changed == ["name", "safety"]
    garden = Garden.objects.get(pk=world.garden.pk)
    assert (garden.name, garden.slug) == ("Southfield", "northfield")
    assert garden.safety == "Hats on.\n\nGloves on."
    assert AuditNote.objects.get(act="settings_changed").detail == {"changed": changed}
    assert choose(world) == []
    assert AuditNote.objects.count() == 1


def test_a_changed_safety_notice_is_read_again(world: World) -> None:
    Membership.objects.filter(pk=world.member.pk).update(safety_read_at=NOON)
    choose(world, hours_ledger=True)
    world.member.refresh_from_db()
    assert world.member.safety_read_at == NOON
    choose(world, safety="New words.")
    world.member.refresh_from_db()
    assert world.member.safety_read_at is None


@pytest.mark.parametrize(
    ("given", "field"),
    [
        ({"name": ""}, "name"),
        ({"joining": "anyhow"}, "joining"),
        ({"safety": "x" * (TEXT_LENGTH + 1)}, "safety"),
        ({"waiver": "x" * (TEXT_LENGTH + 1)}, "waiver"),
    ],
)
def test_settings_that_are_refused(world: World, given: dict[str, str], field: str) -> None:
    with pytest.raises(Refused) as refused:
        choose(world, **given)
    assert refused.value.field == field


@pytest.mark.parametrize("role", ["coordinator", "member", "committee"])
def test_only_an_owner_sets(world: World, role: str) -> None:
    actor = getattr(world, role)
    given = {"name": "x", "joining": "open", "waiver": "", "safety": "", "hours_ledger": False}
    with pytest.raises(PermissionDenied):
        change_garden(actor, **given, now=NOON)
    for verb in (new_link, end_link):
        with pytest.raises(PermissionDenied):
            verb(actor, now=NOON)


def test_the_link_comes_and_goes_with_how_people_join(world: World) -> None:
    assert join_path(world.garden) == ""
    garden = opened(world)
    path = join_path(garden)
    assert found_at(path) == garden
    assert found_at(f"{path[:-1]}{'A' if path[-1] != 'A' else 'B'}") is None
    renewed = new_link(world.owner, now=NOON)
    assert found_at(path) is None
    assert found_at(join_path(renewed)) == garden
    end_link(world.owner, now=NOON)
    end_link(world.owner, now=NOON)
    assert found_at(join_path(renewed)) is None
    garden.refresh_from_db()
    assert (garden.joining, garden.join_nonce) == (Joining.INVITED, None)
    assert AuditNote.objects.filter(act="join_link_ended").count() == 1
    with pytest.raises(Refused, match="Choose first"):
        new_link(world.owner, now=NOON)
    path = join_path(opened(world))
    opened(world, Joining.INVITED)
    assert found_at(path) is None


def test_whoever_asks_gets_a_letter_and_no_role(world: World) -> None:
    garden = opened(world)
    ask(garden, " ANNA@newcomer.example")
    assert not Invitation.objects.exists()
    assert answered(NOON + timedelta(minutes=1)) == 1
    made = Invitation.objects.get()
    assert (made.email, made.role, made.made_by, made.place) == (ADDRESS, "member", None, None)
    assert Letter.objects.get().invitation == made


def test_asking_again_mails_the_same_link_and_not_without_end(world: World) -> None:
    garden = opened(world)
    path = link_path(an_invitation(world.coordinator))
    for _ in range(LETTERS_A_DAY + 3):
        ask(garden)
    assert answered() == LETTERS_A_DAY
    made = Invitation.objects.get()
    assert link_path(made) == path
    assert made.made_by == world.coordinator.person
    later = NOON + timedelta(days=15)
    ask(garden, now=later)
    answered(later)
    assert Invitation.objects.filter(revoked_at__isnull=True).get().made_by is None


def test_a_member_s_address_gets_nothing(world: World) -> None:
    garden = opened(world)
    ask(garden, world.member.person.email)
    assert answered() == 0
    opened(world, Joining.WAITING)
    wait(garden, world.member.person.email)
    assert not Invitation.objects.exists()
    assert not still_waiting(WaitingPerson.objects.all()).exists()
    # The row that makes both answers the same work tells nothing of anybody.
    row = WaitingPerson.objects.get()
    assert (row.name, row.email, row.note) == ("", "", "")


def test_what_was_asked_for_ends_with_the_link(world: World) -> None:
    garden = opened(world)
    ask(garden)
    answered()
    ask(garden, "c@newcomer.example")
    by_hand = an_invitation(world.coordinator, "b@newcomer.example")
    new_link(world.owner, now=NOON)
    assert Invitation.objects.get(email=ADDRESS).revoked_at == NOON
    by_hand.refresh_from_db()
    assert by_hand.revoked_at is None
    assert answered() == 1
    assert not Invitation.objects.filter(email="c@newcomer.example").exists()
    ask(garden)
    answered()
    opened(world, Joining.WAITING)
    assert not Invitation.objects.filter(email=ADDRESS, revoked_at__isnull=True).exists()
    # A page opened before the link was closed writes nothing more.
    ask(garden, "late@newcomer.example")
    assert answered() == 0
    assert not Invitation.objects.filter(email="late@newcomer.example").exists()


def test_waiting_by_the_link(world: World) -> None:
    garden = opened(world, Joining.WAITING)
    wait(garden, note="  Two  children ")
    wait(garden, name="Somebody else")
    [waiting] = still_waiting(WaitingPerson.objects.all())
    assert (waiting.name, waiting.note, waiting.asked_on) == ("Anna", "Two children", TODAY)


def test_a_list_by_date(world: World) -> None:
    given = {"note": "", "now": NOON}
    for name, day in (("Ben", date(2026, 3, 2)), ("Cleo", date(2025, 3, 2)), ("Dan", TODAY)):
        add_waiting(
            world.coordinator, name=name, email=f"{name}@new.example", asked_on=day, **given
        )
    assert [each.name for each in WaitingPerson.objects.all()] == ["Cleo", "Ben", "Dan"]
    for day in (TODAY + timedelta(days=1), date(1949, 1, 1)):
        with pytest.raises(Refused) as refused:
            add_waiting(world.owner, name="Eve", email="e@new.example", asked_on=day, **given)
        assert refused.value.field == "asked_on"
    for email, words in (
        ("BEN@new.example", "on the list already, since 2 March 2026"),
        (world.member.person.email, "belongs to the garden already"),
        ("nothing", "not an e-mail address"),
    ):
        with pytest.raises(Refused, match=words):
            add_waiting(world.owner, name="Eve", email=email, asked_on=TODAY, **given)


def test_inviting_from_the_list_in_and_out_of_turn(world: World) -> None:
    given = {"note": "", "asked_on": TODAY, "now": NOON}
    ben = add_waiting(world.owner, name="Ben", email="ben@new.example", **given)
    cleo = add_waiting(world.owner, name="Cleo", email="cleo@new.example", **given)
    made = invite_waiting(world.coordinator, cleo, now=NOON)
    assert (made.email, made.name) == ("cleo@new.example", "Cleo")
    with pytest.raises(Refused, match="not on the list"):
        invite_waiting(world.coordinator, cleo, now=NOON)
    remove_waiting(world.coordinator, ben, now=NOON)
    with pytest.raises(Refused, match="not on the list"):
        invite_waiting(world.coordinator, ben, now=NOON)
    remove_waiting(world.coordinator, cleo, now=NOON)
    cleo.refresh_from_db()
    assert (cleo.invited_at, cleo.removed_at) == (NOON, None)
    # Somebody taken off may ask again.
    add_waiting(world.owner, name="Ben", email="ben@new.example", **given)


@pytest.mark.parametrize("role", ["member", "committee"])
def test_only_who_leads_keeps_the_list(world: World, role: str) -> None:
    given = {"note": "", "asked_on": TODAY, "now": NOON}
    waiting = add_waiting(world.owner, name="Ben", email="ben@new.example", **given)
    actor = getattr(world, role)
    with pytest.raises(PermissionDenied):
        add_waiting(actor, name="Eve", email="eve@new.example", **given)
    for verb in (invite_waiting, remove_waiting):
        with pytest.raises(PermissionDenied):
            verb(actor, waiting, now=NOON)


def test_another_garden_s_list_is_out_of_reach(world: World) -> None:
    given = {"note": "", "asked_on": TODAY, "now": NOON}
    elsewhere = MembershipFactory(role="owner")
    theirs = add_waiting(elsewhere, name="Ben", email="ben@new.example", **given)
    with pytest.raises(Refused):
        invite_waiting(world.owner, theirs, now=NOON)
    with pytest.raises(Refused):
        remove_waiting(world.owner, theirs, now=NOON)
    theirs.refresh_from_db()
    assert (theirs.invited_at, theirs.removed_at) == (None, None)

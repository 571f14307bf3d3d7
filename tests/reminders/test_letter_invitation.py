"""The words of an invitation's letter, and when none is sent."""

from datetime import timedelta

import pytest
from django.conf import settings

from lifecycle.models import Garden, Invitation, Joining, Letter, Role, WaitingPerson
from lifecycle.records.people.accepting import join_as_new
from lifecycle.records.people.invitation_standing import LASTS
from lifecycle.records.people.invitations import link_path, send_again, take_back
from lifecycle.records.people.join_link import ask_to_join
from lifecycle.records.people.waiting import ask_to_wait, invite_waiting
from lifecycle.reminders.people.letter_invitation import compose
from tests.conftest import World
from tests.factories import NOON
from tests.records.invitations import ADDRESS, an_invitation

TYPED = "Cheap pills"


def opened(world: World) -> Garden:
    """Let people join by the garden's link."""
    world.garden.joining = Joining.OPEN
    world.garden.save()
    return world.garden


def letters() -> list[Letter]:
    return list(Letter.objects.order_by("pk").select_related("invitation"))


def test_it_says_where_who_as_what_until_when(world: World) -> None:
    made = an_invitation(world.coordinator, place=world.bed)
    [letter] = letters()
    written = compose(letter, NOON)
    assert written is not None
    assert written.subject == "Northfield: an invitation to join"
    text = "\n".join(line.text for line in written.lines)
    for words in (
        "Hello Anna,",
        "Coordinator invites you to join Northfield as a member, and to hold Bed 3.",
        "works once, until 28 October",
        "do nothing",
    ):
        assert words in text
    assert written.url == f"{settings.SITE_URL}{link_path(made)}"
    assert [line.url for line in written.lines if line.url] == [written.url]
    assert "invented" not in text


@pytest.mark.parametrize("role", list(Role))
def test_every_role_has_its_words(world: World, role: Role) -> None:
    an_invitation(world.owner, role=role)
    written = compose(letters()[0], NOON)
    assert written is not None
    assert "Owner invites you to join Northfield as a" in written.lines[1].text


def test_one_that_was_asked_for_says_so(world: World) -> None:
    garden = opened(world)
    ask_to_join(garden, name=TYPED, email=ADDRESS, now=NOON)
    written = compose(letters()[0], NOON + timedelta(minutes=1))
    assert written is not None
    assert written.lines[0].text == "Hello,"
    assert TYPED not in str(written)
    assert "Somebody gave this address on the page of Northfield" in written.lines[1].text


def test_words_of_a_stranger_are_never_mailed_to_whom_they_chose(world: World) -> None:
    """Not even when a coordinator sends the invitation again, or invites from the list."""
    garden = opened(world)
    ask_to_join(garden, name=TYPED, email=ADDRESS, now=NOON)
    assert compose(letters()[0], NOON) is not None
    send_again(world.coordinator, Invitation.objects.get(), now=NOON + timedelta(minutes=5))
    ask_to_wait(garden, name=TYPED, email="b@newcomer.example", note=TYPED, now=NOON)
    made = invite_waiting(world.coordinator, WaitingPerson.objects.get(), now=NOON)
    assert made.name == TYPED
    send_again(world.coordinator, made, now=NOON + timedelta(minutes=5))
    for letter in letters():
        assert TYPED not in str(compose(letter, NOON + timedelta(minutes=5)))


def test_a_name_typed_in_the_garden_greets_in_a_later_letter_too(world: World) -> None:
    made = an_invitation(world.coordinator)
    send_again(world.owner, made, now=NOON)
    written = compose(letters()[1], NOON)
    assert written is not None
    assert written.lines[0].text == "Hello Anna,"


def test_a_letter_that_was_tried_before_makes_no_second_invitation(world: World) -> None:
    ask_to_join(opened(world), name="Anna", email=ADDRESS, now=NOON)
    first = compose(letters()[0], NOON)
    again = compose(letters()[0], NOON + timedelta(hours=1))
    assert first is not None
    assert again is not None
    assert first.url == again.url
    assert Invitation.objects.count() == 1


def test_a_demonstration_says_that_it_is_one(world: World) -> None:
    world.garden.invented = True
    world.garden.save()
    an_invitation(world.owner)
    written = compose(letters()[0], NOON)
    assert written is not None
    assert "invented demonstration" in written.lines[-1].text


def test_nothing_is_sent_of_what_is_over(world: World) -> None:
    made = an_invitation(world.coordinator)
    [letter] = letters()
    assert compose(letter, NOON + LASTS) is None
    take_back(world.coordinator, made, now=NOON)
    assert compose(letters()[0], NOON) is None
    Invitation.objects.update(revoked_at=None)
    join_as_new(made, name="Anna", password="", safety_read=False, now=NOON)
    assert compose(letters()[0], NOON) is None


def test_of_two_letters_that_wait_only_the_newer_goes(world: World) -> None:
    made = an_invitation(world.coordinator)
    later = NOON + timedelta(minutes=5)
    renewed = send_again(world.coordinator, made, now=later)
    first, second = letters()
    assert compose(first, later) is None
    written = compose(second, later)
    assert written is not None
    assert written.url.endswith(link_path(renewed))


def test_a_letter_without_its_invitation_is_not_sent(world: World) -> None:
    an_invitation(world.coordinator)
    letter = letters()[0]
    letter.invitation = None
    assert compose(letter, NOON) is None

"""Where a mailed link leads on to: no secret address stands in a table meanwhile."""

from datetime import timedelta

import pytest
import time_machine
from django.test import Client

from lifecycle.models import Invitation, Letter, Person
from lifecycle.records.people.invitations import link_path, send_again
from lifecycle.records.people.letters import link_path as sign_in_path
from lifecycle.web.people.way_kept import kept, way_on
from tests.conftest import World
from tests.factories import NOON, PersonFactory
from tests.records.invitations import ADDRESS, an_invitation

SECRET = "Zq3xW8vN2rT6yB1mK4pL7sD9"
MINUTE = timedelta(minutes=1)


@pytest.fixture
def invitation(world: World) -> Invitation:
    PersonFactory(email=ADDRESS)
    return an_invitation(world.coordinator)


def asked(back: str) -> Letter:
    Client().post("/sign-in/link", {"email": ADDRESS, "next": back})
    return Letter.objects.get(about="sign_in")


def test_an_invitation_is_found_again_by_its_number(invitation: Invitation) -> None:
    path = link_path(invitation)
    letter = asked(path)
    assert letter.data == {"invitation": invitation.pk}
    assert path.rpartition("/")[2] not in str(Letter.objects.values())
    assert Client().post(sign_in_path(letter))["Location"] == path


def test_one_sent_anew_since_opens_with_its_newer_letter_only(
    world: World, invitation: Invitation
) -> None:
    letter = asked(link_path(invitation))
    with time_machine.travel(NOON + MINUTE, tick=False):
        send_again(world.coordinator, invitation, now=NOON + MINUTE)
        assert Client().post(sign_in_path(letter))["Location"] == "/"


def test_asking_again_who_is_there_keeps_no_secret_either(
    world: World, invitation: Invitation
) -> None:
    client = Client()
    client.force_login(Person.objects.get(email=ADDRESS))
    client.post("/sign-in/again", {"act": "link", "next": link_path(invitation)})
    assert Letter.objects.get(about="sign_in").data == {"invitation": invitation.pk}


@pytest.mark.parametrize(
    "path",
    [
        f"/a/12/{SECRET}",
        f"/i/12/{SECRET}",
        f"/%69/12/{SECRET}",
        f"/join/12/{SECRET}",
        f"/u/12/frost/{SECRET}",
        f"/sensor/12/{SECRET}",
        f"/calendar/12/{SECRET}.ics",
        f"/sign-in/l/12/{SECRET}",
        f"/g/../i/12/{SECRET}",
        f"/nowhere/{SECRET}",
    ],
)
def test_of_other_secrets_nothing_is_kept(world: World, path: str) -> None:
    assert kept(path) == {}
    assert asked(path).data == {}


@pytest.mark.parametrize(
    "path",
    ["/", "/settings#push", "/p/ABC234", "/g/northfield/people?role=owner", "/g/x/plants/ABC234"],
)
def test_other_pages_are_kept_as_they_are(world: World, path: str) -> None:
    assert kept(path) == {"next": path}
    assert way_on(kept(path), kept_at=NOON) == path

"""Where sources disagree: the page of a site's settings."""

from collections.abc import Callable
from html import unescape

import pytest
from django.test import Client

from lifecycle.care.policy import SETTINGS
from lifecycle.models import SiteSetting
from lifecycle.records.ground.settings import policy_in_force
from tests.conftest import World
from tests.factories import a_sowing

SignIn = Callable[..., Client]


@pytest.fixture
def client(world: World, as_person: SignIn) -> Client:
    return as_person(world.coordinator)


@pytest.fixture
def page(world: World) -> str:
    return f"{world.address}sites/{world.site.pk}/settings"


def test_every_setting_is_asked_with_who_says_which(client: Client, page: str) -> None:
    text = unescape(client.get(page).content.decode())
    for key, setting in SETTINGS.items():
        assert f'<section id="{key}">' in text
        assert f"<legend>{setting.question}</legend>" in text
        assert setting.effect in text
        for choice in setting.choices:
            assert choice.label in text
    assert text.count("This is the default.") == len(SETTINGS)
    assert text.count(" checked") == len(SETTINGS)


def test_a_choice_is_saved_and_says_what_follows(world: World, client: Client, page: str) -> None:
    a_sowing(world.member, world.bench)
    data = {"key": "plant_out_night", "plant_out_night": "50"}
    answer = client.post(page, data)
    assert answer["Location"].endswith("#plant_out_night")
    text = client.get(answer["Location"]).content.decode()
    assert "2 plants and sowings will be planned anew within minutes." in text
    assert policy_in_force(world.site).of("plant_out_night") == "50"
    again = client.post(page, data, follow=True).content.decode()
    assert "No plan changes." in again
    # An address that somebody made up says nothing odd.
    for odd in ("saved=moon&plants=1", "saved=pinch&plants=x", "saved=%00&plants=-1"):
        assert client.get(f"{page}?{odd}").status_code == 200


@pytest.mark.parametrize("value", ["", "60", "\x00", "x" * 10_000])
def test_what_is_not_offered_gets_a_sentence(client: Client, page: str, value: str) -> None:
    answer = client.post(page, {"key": "plant_out_night", "plant_out_night": value})
    assert answer.status_code == 422
    assert SETTINGS["plant_out_night"].question in answer.content.decode()
    assert not SiteSetting.objects.exists()


def test_a_setting_that_does_not_exist(client: Client, page: str) -> None:
    for data in ({}, {"key": "moon"}):
        answer = client.post(page, data)
        assert answer.status_code == 422
        assert "There is no such setting." in answer.content.decode()


@pytest.mark.parametrize("role", ["member", "committee"])
def test_others_read_and_do_not_choose(
    world: World, page: str, as_person: SignIn, role: str
) -> None:
    client = as_person(getattr(world, role))
    text = client.get(page).content.decode()
    assert "An owner or a coordinator chooses." in text
    assert text.count("In force here.") == len(SETTINGS)
    assert "<button" not in text.partition("<main")[2].partition("</main")[0]
    assert client.post(page, {"key": "pinch", "pinch": "leave"}).status_code == 403

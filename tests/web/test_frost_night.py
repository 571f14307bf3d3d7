"""The page of a frost night: in every state, at every hour, for every role."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from html import unescape

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from lifecycle.handbook import CAUTIONS
from lifecycle.models import Entry, FrostBed, FrostNight, GardenCover, OnCallTurn, Person, Plant
from tests.conftest import World
from tests.factories import MembershipFactory, PlaceFactory, a_plant
from tests.records.frosts import NIGHT, a_bed, a_night

SignIn = Callable[..., Client]

AFTER_DUSK = datetime(2026, 10, 14, 18, 30, tzinfo=UTC)
MORNING = datetime(2026, 10, 15, 8, 0, tzinfo=UTC)
LATER = datetime(2026, 10, 20, 8, 0, tzinfo=UTC)


@pytest.fixture
def night(world: World) -> FrostNight:
    return a_night(world)


@pytest.fixture
def bed(world: World, night: FrostNight) -> FrostBed:
    return a_bed(night, world.bed)


@pytest.fixture
def address(world: World) -> str:
    return f"{world.address}frost/{world.site.pk}/{NIGHT}"


@pytest.fixture
def client(world: World, as_person: SignIn) -> Client:
    return as_person(world.coordinator)


def text_of(client: Client, address: str) -> str:
    answer = client.get(address)
    assert answer.status_code == 200
    return " ".join(unescape(answer.content.decode()).split())


def heading_of(client: Client, address: str) -> str:
    return text_of(client, address).partition("<h1>")[2].partition("</h1>")[0]


def test_the_verdict_and_everything_to_know(world, client, bed, address) -> None:
    GardenCover.objects.create(
        garden=world.garden, site=world.site, protection="cover_light", pieces=3, area_m2=6,
        kept_in="shed 2",
    )  # fmt: skip
    text = text_of(client, address)
    assert "<h1>Frost likely tonight: cover 1 plant in 1 bed by 17:00</h1>" in text
    for words in (
        "−1 °C (30 °F) at about 05:00",
        "Chance of 0 °C or below</dt><dd>7 in 10",
        "17:30; covers on by 17:00",
        "Still air: covers work.",
        "Forecast typed in at 09:00 on 14 October",
        "Acts because the chance that plants are killed, 7 in 10, is at least 1 in 20",
        "1 of Light row cover: shed 2",
        "Bed 3. Cover: 1 plant",
        "Cayenne by the gate. ",
        "Harmed at 2.2 °C or below, killed at 0 °C or below.",
        "Take 1 of Light row cover, from shed 2.",
        "Who comes",
    ):
        assert words in text, words
    assert ">Covered<" in text
    assert ">Not covered<" not in text


def test_in_fahrenheit(world, bed, address, as_person) -> None:
    Person.objects.update(temperature="F")
    text = text_of(as_person(world.member), address)
    assert "30 °F (−1 °C)" in text
    assert "Harmed at 36 °F or below, killed at 32 °F or below." in text


@pytest.mark.parametrize(
    ("columns", "heading"),
    [
        ({"state": "quiet", "kill_chance": 0.0, "harm_chance": 0.0}, "No frost to fear tonight"),
        ({"state": "possible", "harm_chance": 0.3}, "Frost may come tonight: cover 1 plant"),
        ({"state": "possible", "stale": True}, "The forecast is old: what comes tonight is not"),
        ({"state": "called", "stale": True}, "Frost likely tonight"),
        ({"state": "cancelled"}, "Called off tonight: it stays warmer"),
        ({"state": "over"}, "The night of Wednesday 14 October: nobody has said how cold it was"),
        ({"state": "over", "lowest_c": -2.0}, "The night of Wednesday 14 October: lowest −2 °C"),
    ],
)
def test_every_state_has_its_own_words(client, bed, address, columns, heading) -> None:
    FrostNight.objects.update(**columns)
    if columns["state"] == "quiet":
        FrostBed.objects.update(action="leave", plants=0, protection="", pieces=0)
    assert heading_of(client, address).startswith(heading)


def test_a_coming_night(world, client, address) -> None:
    coming = a_night(world, NIGHT + timedelta(2), state="possible", called_at=None)
    a_bed(coming, world.bed)
    address = address.replace(str(NIGHT), str(coming.night))
    text = text_of(client, address)
    assert "Frost likely on Friday: cover 1 plant in 1 bed" in text
    assert ">Covered<" not in text
    assert "Not needed that night" in text
    assert "Call it" not in text


def test_called_by_hand_where_nothing_is_to_be_done(world, client, night, address) -> None:
    FrostNight.objects.update(called_by=world.owner.person, kill_chance=0.01, harm_chance=0.01)
    text = text_of(client, address)
    assert f"<h1>Called tonight by {world.owner.person}</h1>" in text
    assert "Nothing that frost can hurt stands out." in text
    assert "Does not act: the chance of killing is 1 in 100" in text


def test_a_night_of_which_nothing_is_known(world, client, address) -> None:
    assert heading_of(client, address) == "Nothing is known tonight at Canal bank"
    in_three = address.replace(str(NIGHT), str(NIGHT + timedelta(3)))
    assert heading_of(client, in_three).startswith("Nothing is known on Saturday 17 October")
    for day in ("2026-10-18", "2026-10-13", "2026-13-40", "moon", "9999999999"):
        assert client.get(address.replace(str(NIGHT), day)).status_code == 404
    assert client.post(address, {"act": "call"}).status_code == 404


def test_a_place_is_covered_with_one_tap_and_undone_with_another(client, bed, address) -> None:
    answer = client.post(address, {"act": "mark", "bed": bed.pk, "mark": "done"})
    assert answer.status_code == 302
    assert answer["Location"].endswith(f"?bed={bed.pk}#bed-{bed.pk}")
    text = text_of(client, answer["Location"].partition("#")[0])
    assert "Bed 3: covered saved 12:00." in text
    assert "Covered, says Coordinator at 12:00." in text
    assert Entry.objects.standing().filter(kind="covered").count() == 1
    client.post(address, {"act": "mark", "bed": bed.pk, "mark": ""})
    assert not Entry.objects.standing().filter(kind="covered").exists()


def test_after_dusk_three_answers_and_the_truth(client, bed, address) -> None:
    with time_machine.travel(AFTER_DUSK, tick=False):
        text = text_of(client, address)
        assert "Not known." in text
        assert ">Covered<" in text
        assert ">Not covered<" in text
        client.post(address, {"act": "mark", "bed": bed.pk, "mark": "not_done"})
        text = text_of(client, address)
        assert "Not covered, says Coordinator at 18:30." in text
        assert ">Do not know<" in text
        assert ">Not covered<" not in text


def test_in_the_morning_what_is_covered_is_uncovered(client, bed, address) -> None:
    with time_machine.travel(AFTER_DUSK, tick=False):
        client.post(address, {"act": "mark", "bed": bed.pk, "mark": "done"})
    with time_machine.travel(MORNING, tick=False):
        text = text_of(client, address)
        assert "<h1>Uncover now, and say what happened</h1>" in text
        assert "Once it is above 2 °C and the sun is up" in text
        answer = client.post(address, {"act": "uncover", "bed": bed.pk}, follow=True)
        text = " ".join(answer.content.decode().split())
        assert "Bed 3: uncovered saved 08:00." in text
        assert "Uncovered by Coordinator at 08:00" in text
        assert Entry.objects.standing().filter(kind="uncovered").count() == 1
        assert heading_of(client, address) == "The night of Wednesday 14 October: say what happened"
        client.post(address, {"act": "undo_uncover", "bed": bed.pk})
        assert not Entry.objects.standing().filter(kind="uncovered").exists()


def test_what_happened_is_asked_and_kept(client, bed, address, night) -> None:
    with time_machine.travel(MORNING, tick=False):
        answer = client.post(
            address, {"act": "happened", "lowest": "-1.5", "harm": "none"}, follow=True
        )
        text = " ".join(answer.content.decode().split())
        assert "Saved. Thank you" in text
        assert "Lowest −1.5 °C. Nothing harmed. Said by Coordinator" in text
        night.refresh_from_db()
        assert (night.lowest_c, night.harm) == (-1.5, "none")
        for wrong in ({}, {"lowest": "moon"}, {"harm": "eaten"}, {"lowest": "-99"}):
            answer = client.post(address, {"act": "happened", **wrong})
            assert answer.status_code == 422, wrong
            assert b"Error: " in answer.content
    with time_machine.travel(LATER, tick=False):
        FrostNight.objects.update(state="over")
        assert "What happened?" in text_of(client, address)


def test_not_needed_asks_why(client, bed, address, night) -> None:
    assert client.post(address, {"act": "not_needed", "why": ""}).status_code == 422
    client.post(address, {"act": "not_needed", "why": "Cloud came up"})
    night.refresh_from_db()
    assert night.state == "not_needed"
    text = text_of(client, address)
    assert "<h1>Not needed tonight, says Coordinator</h1>" in text
    assert "Cloud came up" in text
    assert ">Covered<" not in text
    client.post(address, {"act": "call"})
    night.refresh_from_db()
    assert night.state == "called"


@pytest.mark.parametrize(
    "data",
    [
        {},
        {"act": "moon"},
        {"act": "mark", "bed": "x"},
        {"act": "mark", "bed": "999999"},
        {"act": "mark", "mark": "moon"},
        {"act": "uncover"},
    ],
)
def test_whatever_is_sent_gets_a_sentence_or_nothing(client, bed, address, data) -> None:
    data = {"bed": bed.pk, **data}
    assert client.post(address, data).status_code in (404, 422)
    assert not Entry.objects.filter(kind="covered").exists()


def test_roles(world, bed, address, as_person) -> None:
    for role, may_mark, may_lead in (
        ("owner", True, True),
        ("member", True, False),
        ("committee", False, False),
    ):
        client = as_person(getattr(world, role))
        text = text_of(client, address)
        assert (">Covered<" in text) is may_mark, role
        assert ("Not needed tonight" in text) is may_lead, role
        if not may_lead:
            for act in ("call", "not_needed"):
                answer = client.post(address, {"act": act, "why": "x"})
                assert answer.status_code == 403, (role, act)
        if not may_mark:
            answer = client.post(address, {"act": "mark", "bed": bed.pk, "mark": "done"})
            assert answer.status_code == 403
    assert as_person(world.outsider).get(address).status_code == 404
    assert as_person(world.outsider).post(address, {"act": "call"}).status_code == 404


def test_a_place_of_another_garden_is_not_there(world, client, address, bed) -> None:
    other = MembershipFactory(role="owner")
    place = PlaceFactory(site__garden=other.garden)
    theirs = FrostNight.objects.get()
    theirs.pk, theirs.garden, theirs.site = None, other.garden, place.site
    theirs.save()
    far = a_bed(theirs, place)
    for data in ({"act": "mark", "mark": "done"}, {"act": "uncover"}):
        assert client.post(address, {**data, "bed": far.pk}).status_code == 404


def test_pots_lights_and_cold_crowns_say_so(world, client, night, address) -> None:
    bench = PlaceFactory(site=world.site, kind="bench", name="Wall", position=1)
    a_plant(world.member, bench, name="Pot")
    a_plant(world.member, world.bed, name="Sleeper", phase="resting")
    a_bed(night, bench, action="bring_in", protection="", pieces=0)
    a_bed(night, world.bed, protection="lights_cloth", action="not_enough", pieces=2)
    text = text_of(client, address)
    assert ">Brought in<" in text
    assert "Cover; it may not be enough: 1 plant" in text
    assert "what its crown stands is not published" in text
    for caution in ("lights", "heat", "lifting"):
        assert CAUTIONS[caution] in text
    assert "2 of Old-style C9 bulbs missing" in text
    # In walking order.
    assert text.index("Wall. ") < text.index("Bed 3. ")


def test_wind_and_sunset_nobody_knows(client, bed, address) -> None:
    FrostNight.objects.update(calm=None, sunset_at=None, low_at=None)
    text = text_of(client, address)
    assert "Wind not known: covers are counted at the least they give." in text
    assert "Cover before dusk." in text
    assert "by dusk</h1>" in text
    FrostNight.objects.update(calm=False)
    assert "Windy: covers work poorly, bring in what can be moved." in text_of(client, address)


def test_plants_without_a_place_are_told_of(world, client, bed, address) -> None:
    a_plant(world.member, world.bed, name="Nowhere")
    Plant.objects.filter(name="Nowhere").update(place=None)
    assert "1 plant in the open has no place on record and is not on this list." in text_of(
        client, address
    )


def test_telephone_numbers_are_for_coordinators(world, bed, address, as_person) -> None:
    Person.objects.filter(pk=world.member.person_id).update(phone="555 0100")
    OnCallTurn.objects.create(
        garden=world.garden,
        site=world.site,
        person=world.member.person,
        first_day=NIGHT,
        last_day=NIGHT,
    )
    assert "On call: Member, 555 0100." in text_of(as_person(world.coordinator), address)
    for role in ("member", "committee"):
        assert "555 0100" not in text_of(as_person(getattr(world, role)), address)


def test_as_many_queries_for_many_places_as_for_one(world, client, bed, address, night) -> None:
    with CaptureQueriesContext(connection) as few:
        client.get(address)
    for number in range(8):
        place = PlaceFactory(site=world.site, name=f"More {number}")
        a_plant(world.member, place, name=f"One {number}")
        a_plant(world.member, place, name=f"Two {number}")
        a_bed(night, place, marked_by=world.member.person, marked_at=night.judged_at, mark="done")
    with CaptureQueriesContext(connection) as many:
        client.get(address)
    assert len(many) == len(few)
    assert len(few) <= 25

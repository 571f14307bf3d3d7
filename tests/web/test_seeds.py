"""The seeds page: age, tests, how much to sow; adding and testing a lot."""

from collections.abc import Callable
from datetime import date, timedelta
from uuid import uuid4

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from lifecycle.life.kinds import Kind
from lifecycle.models import Entry, GerminationTest, Membership, Person, SeedLot
from lifecycle.records.crops import seeds as seed_records
from lifecycle.records.crops.seeds import add_lot
from lifecycle.records.crops.sowings import plan_sowing
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, VarietyFactory

SignIn = Callable[..., Client]
TODAY = NOON.date()


@pytest.fixture
def client(world: World, as_person: SignIn) -> Client:
    return as_person(world.member)


@pytest.fixture
def seeds(world: World) -> str:
    return f"{world.address}seeds"


def a_lot(world: World, name: str = "Attic", year: int | None = 2023, **more: object) -> SeedLot:
    given = {"variety": world.plant.variety, "saved_from": None, **more}
    return add_lot(world.member, name=name, packed_year=year, today=TODAY, **given)  # type: ignore[arg-type]


def a_test(who: Membership, lot: SeedLot, sprouted: int, on: date = TODAY) -> None:
    seed_records.test_lot(
        who,
        lot,
        sown=20,
        sprouted=sprouted,
        tested_on=on,
        today=TODAY,
        uuid=uuid4(),
        now=NOON,
    )


def text_of(client: Client, address: str, **query: object) -> str:
    answer = client.get(address, query)
    assert answer.status_code == 200
    return answer.content.decode()


def test_an_empty_page_says_how_to_begin(client: Client, seeds: str) -> None:
    assert "No seed lot yet." in text_of(client, seeds)


def test_lots_by_age_with_what_to_expect(world: World, client: Client, seeds: str) -> None:
    a_lot(world, "New", 2026)
    a_lot(world, "Old", 2023)
    a_lot(world, "Nobody knows", None)
    saved = a_lot(world, "Own", 2025, saved_from=world.plant)
    text = text_of(client, seeds)
    assert text.index("lot Old") < text.index(f"lot {saved}") < text.index("lot New")
    assert "Past its life since 2025: test it before you rely on it." in text
    assert "Sow by the end of 2028; after that test it first." in text
    assert "saved from Cayenne by the gate" in text
    assert "Age not known" in text
    assert "Iowa State" in text


def test_a_test_stands_beside_the_standard(world: World, client: Client, seeds: str) -> None:
    a_test(world.member, a_lot(world), 12)
    text = text_of(client, seeds)
    assert "12 of 20 sprouted (60%), so 39% to 78% of the lot" in text
    assert "may be below the standard of 55%" in text
    a_test(world.member, a_lot(world, "Bad"), 4)
    assert "below the standard of 55%" in text_of(client, seeds)
    a_test(world.member, a_lot(world, "Good"), 20)
    assert "; meets the standard of 55%" in text_of(client, seeds)


def test_an_old_test_is_shown_and_not_gone_by(world: World, client: Client, seeds: str) -> None:
    a_test(world.member, a_lot(world), 19, TODAY - timedelta(800))
    text = text_of(client, seeds)
    assert "19 of 20 sprouted (95%)." in text
    assert "too old to go by" in text


def test_how_many_to_sow_by_warmth_and_test(world: World, client: Client, seeds: str) -> None:
    lot = a_lot(world)
    assert "Sow 18." in text_of(client, seeds, plants="12", soil_c="15")
    assert "Sow 13." in text_of(client, seeds, plants="12", soil_c="")
    a_test(world.member, lot, 10)
    assert "Sow 35." in text_of(client, seeds, plants="12", soil_c="15")
    assert "Nothing would come up." in text_of(client, seeds, plants="12", soil_c="40")
    assert "Sow " not in text_of(client, seeds, plants="", soil_c="15").split("Lots, oldest")[1]


def test_a_crop_without_a_table_says_so(world: World, client: Client, seeds: str) -> None:
    garlic = VarietyFactory(garden=world.garden, species="garlic")
    a_lot(world, "Cloves", 2026, variety=garlic)
    assert "is not published; sow by the packet." in text_of(client, seeds, plants="5")


@pytest.mark.parametrize(
    ("query", "said"),
    [
        ({"plants": "0"}, "Plants wanted: give a whole number from 1 to 1000."),
        ({"plants": "x"}, "Plants wanted: give a whole number from 1 to 1000."),
        ({"plants": "9" * 5000}, "Plants wanted: give a whole number from 1 to 1000."),
        (
            {"plants": "5", "soil_c": "90"},
            "Soil of the raising bench: give a temperature from 0 to 45 °C.",
        ),
        ({"plants": "5", "soil_c": "\x00"}, "Soil of the raising bench: give a temperature"),
    ],
)
def test_a_question_that_cannot_be_is_answered(
    world: World, client: Client, seeds: str, query: dict[str, str], said: str
) -> None:
    a_lot(world)
    answer = client.get(seeds, query)
    assert answer.status_code == 422
    assert said in answer.content.decode()
    assert "Sow 1" not in answer.content.decode()


def test_a_lot_is_added(world: World, client: Client, seeds: str) -> None:
    variety = world.plant.variety
    typed = {"variety": variety.pk, "name": "Market", "packed_year": "2025", "saved_from": ""}
    answer = client.post(f"{seeds}/add", typed, follow=True)
    assert "Saved." in answer.content.decode()
    assert SeedLot.objects.get().packed_year == 2025
    again = client.post(f"{seeds}/add", typed)
    assert again.status_code == 422
    assert "already" in again.content.decode()
    for wrong, said in (
        ({"packed_year": "2027"}, "from 1990 to 2026"),
        ({"variety": VarietyFactory().pk}, "Variety: choose one from the list."),
        ({"name": "\x00"}, "Name of the lot"),
    ):
        answer = client.post(f"{seeds}/add", {**typed, **wrong})
        assert answer.status_code == 422
        assert said in answer.content.decode()


def test_a_test_is_written_on_a_planned_sowing(world: World, client: Client, seeds: str) -> None:
    lot = a_lot(world)
    sowing = plan_sowing(
        world.member,
        site=world.site,
        variety=lot.variety,
        lot_name=lot.name,
        packed_year=None,
        holder=None,
        uuid=uuid4(),
        now=NOON,
    )
    address = f"{seeds}/{lot.pk}/test"
    asked = text_of(client, address)
    assert "damp paper towel" in asked
    assert "21.1 °C" in asked
    data = {"uuid": str(uuid4()), "sown": "20", "sprouted": "15", "tested_on": "2026-10-14"}
    for _ in range(2):
        assert client.post(address, data)["Location"] == f"{seeds}?saved=1"
    assert GerminationTest.objects.count() == 1
    entry = Entry.objects.get(kind=Kind.SEED_TESTED)
    assert (entry.sowing, entry.quantity) == (sowing, 75)


def test_the_towels_warmth_in_the_readers_unit(world: World, client: Client, seeds: str) -> None:
    Person.objects.filter(pk=world.member.person_id).update(temperature="F")
    assert "70 °F to 80 °F" in text_of(client, f"{seeds}/{a_lot(world).pk}/test")


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"sprouted": "21"}, "Sprouted: 21 of 20 cannot be. Give 0 to 20."),
        ({"sprouted": "-1"}, "Sprouted: give a whole number from 0 to 1000."),
        ({"sown": "0"}, "Seeds laid out: give a whole number from 1 to 1000."),
        ({"tested_on": "2026-10-15"}, "has not come yet"),
        ({"tested_on": "2022-10-15"}, "cannot have been tested before"),
        ({"uuid": ""}, "This form lost its number on the way."),
    ],
)
def test_a_test_that_cannot_be_is_answered_at_its_field(
    world: World, client: Client, seeds: str, typed: dict[str, str], said: str
) -> None:
    good = {"uuid": str(uuid4()), "sown": "20", "sprouted": "15", "tested_on": "2026-10-14"}
    answer = client.post(f"{seeds}/{a_lot(world).pk}/test", {**good, **typed})
    assert answer.status_code == 422
    assert said in answer.content.decode()
    assert not GerminationTest.objects.exists()


def test_lots_of_other_gardens_are_not_there(world: World, client: Client, seeds: str) -> None:
    stranger = MembershipFactory()
    variety = VarietyFactory(garden=stranger.garden)
    lot = add_lot(
        stranger, variety=variety, name="Theirs", packed_year=2020, saved_from=None, today=TODAY
    )
    assert "Theirs" not in text_of(client, seeds)
    assert client.get(f"{seeds}/{lot.pk}/test").status_code == 404


def test_the_committee_reads_and_writes_nothing(
    world: World, as_person: SignIn, seeds: str
) -> None:
    lot = a_lot(world)
    text = text_of(as_person(world.committee), seeds)
    assert "lot Attic" in text
    assert "Add a seed lot" not in text
    assert f"{lot.pk}/test" not in text


def test_queries_do_not_grow(world: World, client: Client, seeds: str) -> None:
    seen = []
    for more in (2, 20):
        for number in range(more):
            variety = VarietyFactory(garden=world.garden)
            lot = a_lot(world, f"{more} {number}", variety=variety, saved_from=world.plant)
            a_test(world.member, lot, 10)
        with CaptureQueriesContext(connection) as queries:
            text_of(client, seeds, plants="12", soil_c="20")
        seen.append(len(queries))
    # session, person, membership; site, climate and choices, lots, tests
    assert seen[0] == seen[1] <= 12

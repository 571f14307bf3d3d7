"""The download of one's own data: all of it, nothing of others, safe to open."""

import csv
import io
import json
import zipfile

import pytest
from django.test import Client

from lifecycle.life.kinds import Kind
from lifecycle.models import AuditNote, Entry, Message, Person
from lifecycle.records.people.own_data import LEFT_OUT, TABLES
from lifecycle.records.people.own_data_words import code_words
from lifecycle.web.people.own_data import as_csv, as_json
from tests.conftest import World
from tests.factories import (
    NOON,
    MembershipFactory,
    PersonFactory,
    PlaceFactory,
    a_plant,
    an_entry,
)
from tests.records.everywhere import act_everywhere, somebody
from tests.records.handings import a_holding, a_receiver
from tests.web.test_leaving import signed_in


@pytest.fixture
def ana(world: World) -> Person:
    person = somebody(world)
    act_everywhere(world, person)
    return person


def opened(client: Client) -> dict[str, str]:
    answer = client.post("/settings/export")
    assert answer["Content-Type"] == "application/zip"
    assert "attachment" in answer["Content-Disposition"]
    with zipfile.ZipFile(io.BytesIO(answer.content)) as archive:
        return {name: archive.read(name).decode() for name in archive.namelist()}


def test_every_table_comes_twice_with_its_columns_explained(world: World, ana: Person) -> None:
    files = opened(signed_in(ana))
    assert set(files) == {"README.txt"} | {
        f"{table.name}.{ending}" for table in TABLES for ending in ("csv", "json")
    }
    for table in TABLES:
        rows = list(csv.DictReader(io.StringIO(files[f"{table.name}.csv"])))
        kept = json.loads(files[f"{table.name}.json"])
        assert len(rows) == len(kept) > 0, table.name
        assert list(rows[0]) == list(table.columns) == list(kept[0]), table.name
        assert f"{table.name}: {table.holds}. Rows: {len(kept)}." in files["README.txt"]
    assert len(json.loads(files["entries.json"])) == Entry.objects.filter(by=ana).count()
    assert len(json.loads(files["messages.json"])) == Message.objects.filter(person=ana).count()
    assert ana.email in files["about_you.csv"]
    for secret in (ana.password, ana.session_nonce.hex, str(ana.session_nonce)):
        assert all(secret not in text for text in files.values())


def test_others_are_another_member(world: World, ana: Person) -> None:
    ben = a_receiver(world, "Ben Orchard")
    one_word = MembershipFactory(garden=world.garden, person=PersonFactory(name="Basil")).person
    an_entry(
        world.member,
        a_plant(world.member, world.bed, name="Third"),
        Kind.WATERED,
        note=f"Ben Orchard helped, ask {ben.person.email}. Basil stands beside it.",
    )
    Message.objects.create(
        garden=world.garden,
        key="about others",
        person=ana,
        channel="inbox",
        for_day=NOON.date(),
        subject="Northfield: Basil takes Cayenne",
        body="Ben Orchard and Basil agreed.",
        not_before=NOON,
        expires_at=NOON,
        made_at=NOON,
    )
    files = opened(signed_in(ana))
    whole = "".join(files.values())
    assert "Ben Orchard" not in whole
    assert ben.person.email not in whole
    assert one_word.email not in whole
    [row] = [r for r in json.loads(files["entries.json"]) if r["kind"] == "watered"]
    assert row["note"] == "Another member helped, ask another member. Basil stands beside it."
    [row] = [r for r in json.loads(files["messages.json"]) if "takes Cayenne" in r["subject"]]
    assert row["subject"] == "Northfield: another member takes Cayenne"
    assert row["body"] == "Another member and another member agreed."


def test_the_page_explains_every_code_of_the_tables(world: World, ana: Person) -> None:
    files = opened(signed_in(ana))
    readme = files["README.txt"]
    for column, names in code_words().items():
        assert f"{column}:" in readme
        assert all(f"  {code}: {words}" in readme for code, words in names.items())
    for table, column, known in (
        ("entries", "kind", "entries, kind"),
        ("plants_held", "phase", "plants_held, phase"),
        ("tasks", "state", "tasks, state"),
        ("task_history", "act", "task_history, act"),
        ("messages", "state", "messages, state"),
        ("hand_overs", "state", "hand_overs, state"),
        ("asks", "state", "asks, state"),
        ("memberships", "role", "memberships, role"),
    ):
        codes = {row[column] for row in json.loads(files[f"{table}.json"])}
        assert codes <= set(code_words()[known]), (table, codes)


def test_an_ended_plant_is_held_no_more(world: World) -> None:
    files = opened(signed_in(world.member))
    assert [row["held_now"] for row in json.loads(files["plants_held.json"])] == [True]
    an_entry(world.member, world.plant, Kind.ENDED, choice="died")
    files = opened(signed_in(world.member))
    assert [row["held_now"] for row in json.loads(files["plants_held.json"])] == [False]


def test_others_names_go_from_names_of_places_and_a_letter_says_what_is_left_out(
    world: World, ana: Person
) -> None:
    ben = a_receiver(world, "Ben Orchard")
    Person.objects.filter(pk=ben.person_id).update(former_names=["Benny Acre"])
    bed = PlaceFactory(site=world.site, name="Ben Orchard's corner")
    a_holding(bed, world.member)
    a_plant(world.member, bed, name="From Benny Acre")
    files = opened(signed_in(ana))
    assert "another member's corner" in files["plots_held.csv"].lower()
    whole = "".join(files.values())
    assert "Ben Orchard" not in whole
    assert "Benny Acre" not in whole
    assert LEFT_OUT in " ".join(files["README.txt"].split())
    assert LEFT_OUT in signed_in(ana).get("/settings/export").content.decode()


def test_a_download_is_noted_in_each_garden(world: World, ana: Person) -> None:
    MembershipFactory(person=ana)
    before = AuditNote.objects.filter(act="exported").count()
    client = signed_in(ana)
    assert "Download" in client.get("/settings/export").content.decode()
    assert AuditNote.objects.filter(act="exported").count() == before
    opened(client)
    assert AuditNote.objects.filter(act="exported", by=ana, about=ana).count() == before + 2


@pytest.mark.parametrize("text", ["=1+1", "+34", "-2", "@x", "\tx", "\rx", "\nx"])
def test_no_cell_is_taken_for_a_formula(text: str) -> None:
    [table] = [each for each in TABLES if each.name == "about_you"]
    row = {"setting": "name", "value": text}
    cells = list(csv.reader(io.StringIO(as_csv(table, [row]), newline="")))[1]
    assert cells == ["name", f"'{text}"]
    assert json.loads(as_json([row]))[0]["value"] == text

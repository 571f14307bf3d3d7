"""Chores: picked from the list, made, changed, ended, and done without an entry."""

from collections.abc import Callable
from uuid import uuid4

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from lifecycle.handbook import STARTERS
from lifecycle.models import Chore, Entry, Task
from tests.conftest import World
from tests.factories import MembershipFactory, a_task
from tests.records.works import TODAY, a_chore, a_chore_task
from tests.reminders.climates import DAY, give_climate

SignIn = Callable[..., Client]
GARBAGE = ["", "x", "-1", "9" * 50, "\x00", "é" * 3000]


@pytest.fixture
def lead(world: World, as_person: SignIn) -> Client:
    return as_person(world.coordinator)


@pytest.fixture
def client(world: World, as_person: SignIn) -> Client:
    return as_person(world.member)


def typed(world: World, **more: object) -> dict[str, object]:
    return {
        "title": "Open the gate",
        "site": world.site.pk,
        "repeat": "weeks",
        "first_day": "2026-10-16",
        "at_time": "18:30",
        **more,
    }


def test_ticked_chores_are_added_and_become_tasks_at_once(world: World, lead: Client) -> None:
    page = f"{world.address}chores"
    text = lead.get(page).content.decode()
    assert "No chores yet" in text
    for starter in STARTERS.values():
        assert starter.label in text
    assert "The water main: only whoever the owner or the water company names turns it." in text
    assert "Common practice, no source" in text
    data = {"site": world.site.pk, "starter": ["compost", "water_off"]}
    added = lead.post(page, data, follow=True).content.decode()
    assert "2 added." in added
    assert "It falls due once the climate of the site is known." in added
    assert "Already at Canal bank" in added
    assert Task.objects.filter(chore__starter="compost").count() == 3
    assert "0 added" not in lead.post(page, data, follow=True).content.decode()
    assert Chore.objects.count() == 2


def test_where_it_never_freezes_hard_the_page_says_so(world: World, lead: Client) -> None:
    give_climate(world, half_zone="11a", first_freeze="", last_freeze="")
    chore = a_chore(world, repeat="hard_freeze")
    for address in ("chores", f"chores/{chore.pk}"):
        text = lead.get(f"{world.address}{address}").content.decode()
        assert "no hard freeze in nine years of ten, so it never falls due" in text


def test_members_read_and_coordinators_write(
    world: World, client: Client, lead: Client, as_person: SignIn
) -> None:
    chore = a_chore(world)
    for reader in (client, as_person(world.committee)):
        text = reader.get(f"{world.address}chores").content.decode()
        assert "Turn the compost" in text
        assert "Pick from the list" not in text
        one = reader.get(f"{world.address}chores/{chore.pk}").content.decode()
        assert "Change it" not in one
        assert reader.get(f"{world.address}chores/add").status_code == 403
        for address in ("chores", f"chores/{chore.pk}", "chores/add"):
            assert reader.post(f"{world.address}{address}", {"act": "end"}).status_code == 403
    stranger = as_person(MembershipFactory(role="owner"))
    for address in ("chores", f"chores/{chore.pk}", "chores/add"):
        assert stranger.get(f"{world.address}{address}").status_code == 404


def test_a_chore_of_ones_own(world: World, lead: Client) -> None:
    page = f"{world.address}chores/add"
    assert lead.get(page).status_code == 200
    wrong = lead.post(page, typed(world, title="", every="0", at_time="soon"))
    assert wrong.status_code == 422
    text = wrong.content.decode()
    assert "What is to be done: give an answer." in text
    assert "Every so many: give a whole number from 1 to 366." in text
    assert "Give it as 18:30." in text
    made = lead.post(page, typed(world, place=world.bed.pk), follow=True).content.decode()
    assert "Every week, on Fridays, at 18:30. Next: 16 October." in made
    assert lead.post(page, typed(world, place=world.bed.pk)).status_code == 302
    chore = Chore.objects.get()
    assert (chore.place, chore.minutes, chore.days_open) == (world.bed, 30, 3)
    task = Task.objects.earliest("best")
    shown = lead.get(f"{world.address}tasks/{task.pk}").content.decode()
    assert "<h1>Open the gate</h1>" in shown
    assert "best 16 October at 18:30" in shown
    assert "It was made a task of the chore." in shown


@pytest.mark.parametrize(
    ("repeat", "days", "kept"),
    [
        *(("hard_freeze", text, -14) for text in ("14", "−14", "-14", "+14", "– 14")),
        ("last_freeze", "14", 14),
        ("hard_freeze", "0", 0),
        ("weeks", "14", 0),
        ("weeks", "", 0),
    ],
)
def test_days_lie_before_the_first_freeze_and_after_the_last(
    world: World, lead: Client, repeat: str, days: str, kept: int
) -> None:
    data = typed(world, repeat=repeat, days_from_anchor=days)
    assert lead.post(f"{world.address}chores/add", data).status_code == 302
    chore = Chore.objects.get()
    assert chore.days_from_anchor == kept
    page = f"{world.address}chores/{chore.pk}"
    assert f'name="days_from_anchor" value="{abs(kept)}"' in lead.get(page).content.decode()
    lead.post(page, {"act": "change", **data, "days_from_anchor": str(abs(kept))})
    chore.refresh_from_db()
    assert chore.days_from_anchor == kept


@pytest.mark.parametrize(
    ("repeat", "days", "sentence"),
    [
        ("last_freeze", "−7", "so give them without a minus, such as 7"),
        ("hard_freeze", "", "give a whole number from 0 to 180"),
        ("hard_freeze", "181", "give a whole number from 0 to 180"),
        ("hard_freeze", "two", "give a whole number from 0 to 180"),
    ],
)
def test_days_that_are_not_understood_are_refused(
    world: World, lead: Client, repeat: str, days: str, sentence: str
) -> None:
    data = typed(world, repeat=repeat, days_from_anchor=days)
    answer = lead.post(f"{world.address}chores/add", data)
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert not Chore.objects.exists()


def test_a_chore_after_the_first_freeze_stays_until_its_days_are_typed(
    world: World, lead: Client
) -> None:
    data = typed(world, repeat="hard_freeze", days_from_anchor="14")
    lead.post(f"{world.address}chores/add", data)
    Chore.objects.update(days_from_anchor=14)
    page = f"{world.address}chores/{Chore.objects.get().pk}"
    assert "Every year, 14 days after the first hard freeze" in lead.get(page).content.decode()
    assert "−14 puts it before that freeze." in lead.get(page).content.decode()
    for text, kept in (("14", 14), ("−14", -14), ("14", -14)):
        lead.post(page, {"act": "change", **data, "days_from_anchor": text})
        assert Chore.objects.get().days_from_anchor == kept


@pytest.mark.parametrize("field", ["title", "site", "repeat", "first_day", "at_time", "place"])
def test_the_form_survives_garbage(world: World, lead: Client, field: str) -> None:
    for value in GARBAGE:
        answer = lead.post(f"{world.address}chores/add", typed(world, **{field: value}))
        assert answer.status_code in (302, 422), value[:20]
        assert lead.post(
            f"{world.address}chores", {field: value, "starter": value}
        ).status_code in (
            302,
            422,
        )


def test_places_of_another_garden_are_refused(world: World, lead: Client) -> None:
    other = MembershipFactory(role="owner")
    foreign = other.garden.sites.create(
        garden=other.garden, name="Far", latitude=1, time_zone="UTC", year_starts_in=1
    )
    for more in ({"site": foreign.pk}, {"plant": 10**6}, {"place": 10**6}):
        assert lead.post(f"{world.address}chores/add", typed(world, **more)).status_code == 422
    assert (
        lead.post(f"{world.address}chores", {"site": foreign.pk, "starter": "tools"}).status_code
        == 422
    )


def test_changing_and_ending(world: World, lead: Client) -> None:
    lead.post(f"{world.address}chores/add", typed(world))
    page = f"{world.address}chores/{Chore.objects.get().pk}"
    assert lead.post(page, {"act": "change", **typed(world, title="x" * 99)}).status_code == 422
    lead.post(page, {"act": "change", **typed(world, first_day="2026-10-17")})
    assert Task.objects.earliest("best").best == TODAY + 3 * DAY
    ended = lead.post(page, {"act": "end"}, follow=True).content.decode()
    assert "It falls due no more." in ended
    assert "Change it" not in ended
    assert not Task.objects.filter(state="open").exists()
    assert "Open the gate" not in lead.get(f"{world.address}chores").content.decode()


def test_done_in_one_tap_and_undone(world: World, client: Client) -> None:
    task = a_chore_task(a_chore(world, place=world.bed), assignee=world.member.person)
    text = client.get(world.address).content.decode()
    assert "Turn the compost" in text
    assert "1 thing due" in text
    data = {"kind": "chore", "chore": task.chore_id, "place": world.bed.pk, "whose": "1"}
    once = {**data, "uuid": str(uuid4()), "back": "today"}
    done = client.post(f"{world.address}tasks", once, follow=True).content.decode()
    assert "Done: Turn the compost." in done
    again = client.post(f"{world.address}tasks", once, follow=True).content.decode()
    assert "Nothing was left to do there." in again
    assert "Done by Member at 12:00." in again
    assert not Entry.objects.filter(kind="note").exists()
    undo = {"act": "undo", "task": task.pk, "back": "today"}
    undone = client.post(f"{world.address}tasks", undo, follow=True).content.decode()
    assert "Not done after all: Turn the compost." in undone
    task.refresh_from_db()
    assert task.state == "open"


def test_the_task_page_does_it_and_opens_it_again(world: World, client: Client) -> None:
    task = a_chore_task(a_chore(world, skill="ladder", how="Gently."))
    page = f"{world.address}tasks/{task.pk}"
    text = client.get(page).content.decode()
    assert "Gently. About 30 minutes for one person; asks for: ladder work." in text
    assert "three points of contact" in text
    assert "Nobody yet" in text
    client.post(page, {"act": "done", "uuid": str(uuid4())})
    closed = client.get(page).content.decode()
    assert "Done by Member at 12:00." in closed
    assert "Undo: it is not done" in closed
    late = client.post(page, {"act": "done"}, follow=True).content.decode()
    assert "Done by Member at 12:00." in late
    client.post(page, {"act": "reopen"})
    text = client.get(page).content.decode()
    for sentence in ("Member did it.", "Member opened it again."):
        assert sentence in text


def test_a_bed_shows_its_chores(world: World, client: Client) -> None:
    a_chore_task(a_chore(world, place=world.bed))
    a_chore_task(a_chore(world, title="Tie the plant", plant=world.plant))
    text = client.get(f"{world.address}beds/{world.bed.pk}").content.decode()
    assert "Turn the compost" in text
    assert "Tie the plant: Cayenne by the gate" in text


def test_number_of_queries_does_not_grow(world: World, client: Client) -> None:
    give_climate(world)
    chore = a_chore(world, title="Rake", repeat="hard_freeze")
    seen: dict[str, list[int]] = {}
    for more in (3, 30):
        for number in range(more):
            made = a_chore(world, title=f"Chore {more} {number}", place=world.bed)
            a_chore_task(made, closed_at=None)
            a_chore_task(
                made,
                TODAY + DAY,
                state="done",
                closed_by=world.owner.person,
                closed_at="2026-10-14T10:00Z",
            )
            a_task(world.plant, "lift", number=more * 100 + number)
        a_chore_task(chore, TODAY + more * DAY)
        for address in ("", "tasks", "chores", f"chores/{chore.pk}"):
            with CaptureQueriesContext(connection) as queries:
                assert client.get(world.address + address).status_code == 200
            seen.setdefault(address, []).append(len(queries))
    for address, (few, many) in seen.items():
        assert few == many, address
        assert many <= 17, address


def test_a_plant_shows_the_chores_that_are_for_it_alone(world: World, client: Client) -> None:
    task = a_chore_task(a_chore(world, title="Tie the plant", plant=world.plant))
    a_task(world.plant, "cut_back")
    text = client.get(f"{world.address}plants/{world.plant.code}").content.decode()
    assert text.index("Cut back") < text.index("Tie the plant")
    client.post(f"{world.address}tasks/{task.pk}", {"act": "done", "uuid": str(uuid4())})
    again = client.get(f"{world.address}plants/{world.plant.code}").content.decode()
    assert "Tie the plant" not in again

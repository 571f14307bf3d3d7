"""A plant's page: one tap logs, a second tap does not, undo strikes."""

from collections.abc import Callable
from datetime import date, timedelta
from uuid import uuid4

import pytest
from django.test import Client

from lifecycle.life.kinds import Kind
from lifecycle.models import Entry, Person, Plant, SeedLot, Strike, Task
from lifecycle.records.crops.drafts import Draft
from lifecycle.records.crops.entries import log
from tests.conftest import World
from tests.factories import NOON, a_plant, a_task, an_entry

SignIn = Callable[..., Client]


@pytest.fixture
def address(world: World) -> str:
    return f"{world.address}plants/{world.plant.code}"


@pytest.fixture
def client(world: World, as_person: SignIn) -> Client:
    return as_person(world.member)


def test_page_says_where_the_plant_stands(client: Client, address: str) -> None:
    text = client.get(address).content.decode()
    assert "<h1>Cayenne by the gate</h1>" in text
    assert '<i lang="la">Capsicum annuum</i>' in text
    assert "Bed 3, Canal bank. Held by Member. Bearing since 20 May." in text
    assert "formaction" in text
    assert "the climate of Canal bank is not known yet" in text


def test_one_tap_logs_and_a_second_does_not(client: Client, address: str, world: World) -> None:
    data = {"uuid": str(uuid4())}
    first = client.post(f"{address}/log/watered", data, follow=True)
    assert "Watered saved 12:00." in first.content.decode()
    second = client.post(f"{address}/log/watered", data, follow=True)
    assert "Watered was saved already at 12:00." in second.content.decode()
    assert Entry.objects.filter(kind=Kind.WATERED).count() == 1
    client.post(f"{address}/log/fed", data)
    assert Entry.objects.filter(kind=Kind.FED).count() == 1


def test_undo_strikes_and_the_record_keeps_it(client: Client, address: str) -> None:
    client.post(f"{address}/log/watered", {"uuid": str(uuid4())})
    entry = Entry.objects.get(kind=Kind.WATERED)
    undone = client.post(
        f"/g/northfield/entries/{entry.pk}", {"act": "undo"}, follow=True
    ).content.decode()
    assert "Watered of 14 October is struck through." in undone
    assert '<span class="what struck">Watered</span>' in undone
    assert "Struck through by Member: Undone" in undone
    again = client.post(f"/g/northfield/entries/{entry.pk}", {"act": "undo"})
    assert again.status_code == 302
    assert Strike.objects.count() == 1


def test_undo_that_later_entries_need_is_refused_with_a_sentence(
    client: Client, address: str, world: World
) -> None:
    first = Entry.objects.get(plant=world.plant)
    answer = client.post(f"/g/northfield/entries/{first.pk}", {"act": "undo"})
    assert answer.status_code == 422
    assert "would leave the record empty" in answer.content.decode()


def test_quantity_is_read_in_the_readers_unit(client: Client, address: str, world: World) -> None:
    Person.objects.filter(pk=world.member.person_id).update(length="in", temperature="F")
    form = client.get(f"{address}/log/picked").content.decode()
    assert "Weight picked (oz)" in form
    client.post(f"{address}/log/picked", {"uuid": str(uuid4()), "quantity": "10"})
    assert Entry.objects.get(kind=Kind.PICKED).quantity == pytest.approx(283.4952)
    assert "weight picked: 10 oz" in client.get(address).content.decode()
    client.post(f"{address}/log/picked", {"uuid": str(uuid4()), "quantity": "1,5 kg"})
    assert Entry.objects.filter(kind=Kind.PICKED).latest("pk").quantity == 1500


@pytest.mark.parametrize("typed", ["nothing", "-3", "1e9", "9" * 400, "\x00", "3 cm", "99999999"])
def test_bad_quantity_gets_a_sentence_and_stays_typed(
    client: Client, address: str, typed: str
) -> None:
    answer = client.post(f"{address}/log/picked", {"uuid": str(uuid4()), "quantity": typed})
    assert answer.status_code == 422
    text = answer.content.decode()
    assert "<title>Error: Picked" in text
    assert text.count("Weight picked: give 0 to 50000 g.") == 2
    assert 'href="#id_quantity"' in text


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ("2027-01-01", "is in the future at this site"),
        ("1900-01-01", "too long ago"),
        ("tomorrow", "The date was not understood."),
        ("31 February 2026", "The date was not understood."),
        ("9" * 5000, "The date was not understood."),
        ("1 May 2026", "stands before the record begins"),
    ],
)
def test_bad_dates_get_a_sentence(client: Client, address: str, typed: str, sentence: str) -> None:
    answer = client.post(f"{address}/log/watered", {"uuid": str(uuid4()), "happened_on": typed})
    assert answer.status_code == 422
    assert sentence in answer.content.decode()


def test_date_may_have_its_month_as_a_word(client: Client, address: str) -> None:
    client.post(f"{address}/log/watered", {"uuid": str(uuid4()), "happened_on": "3 October 2026"})
    assert Entry.objects.get(kind=Kind.WATERED).happened_on == date(2026, 10, 3)


def test_kind_that_cannot_follow_says_what_to_log_first(client: Client, address: str) -> None:
    answer = client.post(f"{address}/log/woken", {"uuid": str(uuid4())})
    assert answer.status_code == 422
    assert "cannot follow while it is bearing" in answer.content.decode()


@pytest.mark.parametrize("kind", ["raised", "handed_over", "nothing", "emerged"])
def test_unknown_kinds_are_not_there(client: Client, address: str, kind: str) -> None:
    assert client.post(f"{address}/log/{kind}", {}).status_code == 404


def test_choice_is_asked_for(client: Client, address: str) -> None:
    answer = client.post(f"{address}/log/pest_check", {"uuid": str(uuid4()), "choice": "\x00"})
    assert "What was found: choose one from the list." in answer.content.decode()
    assert 'href="#id_choice_0"' in answer.content.decode()
    assert "the label is the law" in answer.content.decode()
    client.post(f"{address}/log/pest_check", {"uuid": str(uuid4()), "choice": "clean"})
    assert Entry.objects.get(kind=Kind.PEST_CHECK).choice == "clean"


def test_form_without_its_number_is_refused(client: Client, address: str) -> None:
    for number in ("", "nonsense", "\x00"):
        answer = client.post(f"{address}/log/watered", {"uuid": number})
        assert answer.status_code == 422
        assert "lost its number on the way" in answer.content.decode()


def test_correction_strikes_and_replaces(client: Client, address: str, world: World) -> None:
    entry = an_entry(world.member, world.plant, Kind.PICKED, quantity=100.0)
    page = f"/g/northfield/entries/{entry.pk}"
    data = {
        "act": "correct",
        "uuid": str(uuid4()),
        "quantity": "120",
        "happened_on": "2026-10-02",
        "note": "weighed again",
        "reason": "misread",
    }
    assert client.post(page, data).status_code == 302
    new = Entry.objects.get(replaces=entry)
    assert (new.quantity, new.note) == (120, "weighed again")
    text = client.get(address).content.decode()
    assert "Struck through by Member: misread. Replaced by picked on 2 October" in text
    assert "A correction" in text
    chain = client.get(page).content.decode()
    assert "Corrections" in chain
    assert "Save the correction" not in chain
    second = client.post(page, {**data, "uuid": str(uuid4())})
    assert "already struck through" in second.content.decode()


def test_correction_keeps_what_it_does_not_ask_for(world: World, client: Client) -> None:
    pair = a_plant(world.member, world.bed, name="Pair", count=2)
    entry = Entry.objects.get(plant=pair)
    data = {
        "act": "correct",
        "uuid": str(uuid4()),
        "choice": "growing",
        "quantity": "2",
        "place": world.bed.pk,
        "happened_on": "2026-05-20",
    }
    client.post(f"/g/northfield/entries/{entry.pk}", data)
    pair.refresh_from_db()
    assert (pair.count, pair.phase, pair.holder_id) == (2, "growing", world.member.person_id)


def test_only_the_writer_or_a_lead_strikes(world: World, as_person: SignIn) -> None:
    entry = an_entry(world.owner, world.plant, Kind.FED)
    page = f"/g/northfield/entries/{entry.pk}"
    assert as_person(world.member).post(page, {"act": "strike"}).status_code == 403
    assert as_person(world.coordinator).post(page, {"act": "strike"}).status_code == 302


def test_rarer_acts(client: Client, address: str, world: World) -> None:
    once = {"uuid": str(uuid4()), "happened_on": "2026-10-10"}
    cuttings = {**once, "number": "2", "place": world.quarters.pk}
    for _ in range(2):
        assert client.post(f"{address}/cuttings", cuttings).status_code == 302
    assert Plant.objects.filter(parent=world.plant).count() == 2
    seed = {**once, "uuid": str(uuid4()), "name": "Own seed 2026", "seeds": "60"}
    assert client.post(f"{address}/seed", seed).status_code == 302
    assert SeedLot.objects.get().saved_from == world.plant
    split = client.post(f"{address}/split", {**once, "uuid": str(uuid4())})
    assert "Only a pair can be split" in split.content.decode()
    move = {**once, "uuid": str(uuid4()), "place": world.bench.pk}
    assert client.post(f"{address}/move", move).status_code == 302
    text = client.get(address).content.decode()
    assert "Raised from it" in text
    assert "Own seed 2026" in text
    assert "Raising bench, Canal bank." in text


def test_hand_over_is_a_proposal(client: Client, address: str, world: World) -> None:
    data = {"uuid": str(uuid4()), "from_day": "2026-10-14", "to": world.owner.person_id}
    answer = client.post(f"{address}/hand-over", data)
    world.plant.refresh_from_db()
    assert world.plant.holder == world.member.person
    assert "waits for an answer from Owner" in client.get(answer["Location"]).content.decode()


def test_hand_over_to_an_outsider_is_refused(client: Client, address: str, world: World) -> None:
    for to in (world.outsider.pk, 10**30, "x"):
        data = {"uuid": str(uuid4()), "from_day": "2026-10-14", "to": to}
        answer = client.post(f"{address}/hand-over", data)
        assert "Who looks after it from then on: choose one" in answer.content.decode()


def test_pair_is_split(client: Client, world: World) -> None:
    pair = a_plant(world.member, world.bed, name="Two", count=2)
    data = {"uuid": str(uuid4()), "happened_on": "2026-10-10"}
    client.post(f"{world.address}plants/{pair.code}/split", data)
    pair.refresh_from_db()
    assert pair.count == 1
    assert pair.children.count() == 1


def test_due_row_is_done_with_a_tap(client: Client, address: str, world: World) -> None:
    task = a_task(world.plant, "cut_back", reason="Cut to {10.2 cm} before {7.2 C}.")
    Person.objects.filter(pk=world.member.person_id).update(length="in", temperature="F")
    text = client.get(address).content.decode()
    assert "due now, by 20 October" in text
    assert "Cut to 4 in before 45 °F." in text
    assert "Peppers burn" in text
    client.post(f"{world.address}tasks/{task.pk}", {"act": "done", "uuid": str(uuid4())})
    task.refresh_from_db()
    assert task.state == Task.State.DONE


def test_ended_plant_takes_notes_only(client: Client, address: str) -> None:
    ended = {"uuid": str(uuid4()), "choice": "died", "note": "frost"}
    client.post(f"{address}/log/ended", ended)
    text = client.get(address).content.decode()
    assert "Ended on 14 October." in text
    assert "Rarer acts" not in text
    assert "/log/note" in text
    assert "/log/watered" not in text


def test_long_record_is_shown_in_parts(client: Client, address: str, world: World) -> None:
    for day in range(1, 26):
        an_entry(world.member, world.plant, Kind.WATERED, happened_on=date(2026, 6, day))
    assert "Show earlier entries" in client.get(address).content.decode()
    whole = client.get(f"{address}?record=all").content.decode()
    assert "Show earlier entries" not in whole
    assert "Taken over, history unknown" in whole


@pytest.mark.parametrize("saved", ["x", "0", "-1", "9" * 300, "\x00", "999999999"])
def test_status_line_ignores_garbage(client: Client, address: str, saved: str) -> None:
    for name in ("saved", "struck"):
        assert client.get(address, {name: saved}).status_code == 200


def test_undo_is_for_what_was_just_tapped(client: Client, world: World) -> None:
    then = NOON - timedelta(days=3)
    draft = Draft(Kind.WATERED, then.date())
    old = log(world.member, world.plant, draft, now=then).entry
    answer = client.post(f"{world.address}entries/{old.pk}", {"act": "undo"})
    assert "strike it through instead" in answer.content.decode()
    assert not Strike.objects.exists()

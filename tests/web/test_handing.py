"""Hand-overs on the pages: proposing, answering, taking back, and who sees what."""

from collections.abc import Callable
from datetime import date, timedelta
from uuid import uuid4

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from lifecycle.models import BedHolding, HandOver, Membership, Message, Place, TaskEvent
from lifecycle.records.people.handing_load import load_of
from tests.conftest import World
from tests.factories import MembershipFactory, PlaceFactory, a_plant, a_sowing, a_task
from tests.records.handings import TODAY, a_holding, a_receiver, proposed

SignIn = Callable[[object], Client]
State = HandOver.State


@pytest.fixture
def ben(world: World) -> Membership:
    return a_receiver(world)


def form(to: Membership, **more: object) -> dict[str, object]:
    return {
        "uuid": str(uuid4()),
        "to": to.person_id,
        "from_day": "2026-10-14",
        "note": "",
        **more,
    }


def test_proposed_and_accepted_in_three_taps(
    world: World, ben: Membership, as_person: SignIn
) -> None:
    a_task(world.plant, "cut_back", assignee=world.member.person)
    a_task(world.plant, "mulch")
    giver, receiver = as_person(world.member), as_person(ben)
    page = f"{world.address}plants/{world.plant.code}/hand-over"
    text = giver.get(page).content.decode()
    assert "You look after it now." in text
    assert 'value="2026-10-14"' in text
    assert "Both agreed in person" not in text
    answer = giver.post(page, form(ben, from_day="2026-10-14", note="Likes <b>wind</b>."))
    address = answer["Location"]
    said = "From 14 October, Member hands Cayenne by the gate (Bed 3) to Ben Orchard. 2 tasks move."
    for client in (giver, receiver):
        text = client.get(address).content.decode()
        assert f"<h1>{said}</h1>" in text
        assert "Likes &lt;b&gt;wind" in text
    assert "Accept</button>" not in giver.get(address).content.decode()
    assert receiver.get(f"{world.address}hand-overs").content.decode().count("asked to take") == 1
    answer = receiver.post(address, {"act": "accept"})
    assert answer.status_code == 302
    world.plant.refresh_from_db()
    assert world.plant.holder == ben.person
    text = giver.get(address).content.decode()
    assert "2 tasks moved." in text
    assert "It is done." in text
    assert "Take the hand-over back" not in text
    assert TaskEvent.objects.filter(act="handed_over").count() == 2
    told = Message.objects.filter(about="hand_over", channel="inbox").order_by("pk")
    assert [(each.person.name, each.kind, each.data["news"]) for each in told] == [
        ("Ben Orchard", "handed", "proposed"),
        ("Ben Orchard", "handed", "done"),
        ("Member", "handed", "done"),
    ]


def test_a_second_answer_is_told_what_became_of_it(
    world: World, ben: Membership, as_person: SignIn
) -> None:
    made = proposed(world, ben)
    address = f"{world.address}hand-overs/{made.pk}"
    client = as_person(ben)
    client.post(address, {"act": "accept"})
    answer = client.post(address, {"act": "accept"})
    assert answer.status_code == 422
    assert "You accepted this already. Nothing was changed." in answer.content.decode()
    answer = as_person(world.member).post(address, {"act": "cancel"})
    assert "Ben Orchard accepted this already." in answer.content.decode()


def test_declining_needs_a_reason(world: World, ben: Membership, as_person: SignIn) -> None:
    made = proposed(world, ben)
    address = f"{world.address}hand-overs/{made.pk}"
    client = as_person(ben)
    answer = client.post(address, {"act": "decline", "why": ""})
    assert answer.status_code == 422
    assert "Error: " in answer.content.decode()
    assert client.post(address, {"act": "decline", "why": "No room."}).status_code == 302
    assert "You declined. No room." in client.get(address).content.decode()
    assert Message.objects.filter(person=world.member.person, about="hand_over").exists()


def test_a_hand_over_that_waits_is_told_at_the_plant(
    world: World, ben: Membership, as_person: SignIn
) -> None:
    plant = f"{world.address}plants/{world.plant.code}"
    giver, receiver = as_person(world.member), as_person(ben)
    assert "asked to take this over" not in giver.get(plant).content.decode()
    proposed(world, ben)
    told = "Ben Orchard is asked to take this over, no answer yet, from 14 October."
    assert told in giver.get(plant).content.decode()
    form = giver.get(f"{plant}/hand-over").content.decode()
    assert told in form
    assert "Propose the hand-over" not in form
    assert "You are asked to take this over, from 14" in receiver.get(plant).content.decode()


def test_who_holds_an_empty_plot_can_hand_it_over(
    world: World, ben: Membership, as_person: SignIn
) -> None:
    plot = PlaceFactory(site=world.site)
    bed = f"{world.address}beds/{plot.pk}"
    client = as_person(ben)
    assert "Hand over what is yours here" not in client.get(bed).content.decode()
    a_holding(plot, ben)
    assert "Hand over what is yours here" in client.get(bed).content.decode()


def test_the_giver_takes_it_back(world: World, ben: Membership, as_person: SignIn) -> None:
    made = proposed(world, ben)
    address = f"{world.address}hand-overs/{made.pk}"
    assert as_person(ben).post(address, {"act": "cancel"}).status_code == 403
    assert as_person(world.member).post(address, {"act": "cancel"}).status_code == 302
    made.refresh_from_db()
    assert made.state == State.CANCELLED


def test_a_coordinator_accepts_for_somebody_and_records_what_was_agreed(
    world: World, ben: Membership, as_person: SignIn
) -> None:
    made = proposed(world, ben)
    client = as_person(world.coordinator)
    address = f"{world.address}hand-overs/{made.pk}"
    assert "Accept for Ben Orchard" in client.get(address).content.decode()
    assert as_person(world.member).post(address, {"act": "accept_for"}).status_code == 403
    assert client.post(address, {"act": "accept_for"}).status_code == 302
    page = f"{world.address}plants/{world.plant.code}/hand-over"
    assert "Looked after by Ben Orchard now." in client.get(page).content.decode()
    answer = client.post(page, form(world.owner, from_day="2026-10-10", how="agreed"))
    assert "was handed over on 14 October 2026 already" in answer.content.decode()
    answer = client.post(page, form(world.owner, how="agreed"))
    assert answer.status_code == 302
    world.plant.refresh_from_db()
    assert world.plant.holder == world.owner.person
    assert "Agreed in person." in client.get(answer["Location"]).content.decode()


def test_what_cannot_be_proposed_is_said_at_its_field(
    world: World, ben: Membership, as_person: SignIn
) -> None:
    client = as_person(world.member)
    page = f"{world.address}plants/{world.plant.code}/hand-over"
    for wrong, sentence in (
        ({"from_day": "2026-10-13"}, "Give a day from today"),
        ({"from_day": "soon"}, "The date was not understood"),
        ({"to": world.committee.person_id}, "choose one from the list"),
        ({"to": world.member.person_id}, "choose one from the list"),
        ({"note": "x" * 301}, "keep it to 300"),
        ({"uuid": "x"}, "lost its number"),
    ):
        answer = client.post(page, {**form(ben), **wrong})
        assert answer.status_code == 422, wrong
        assert sentence in answer.content.decode(), wrong
    # A member's form does not record what was agreed, whatever it sends.
    client.post(page, form(ben, how="agreed"))
    assert HandOver.objects.get().state == State.PROPOSED
    answer = client.post(page, form(ben))
    assert "is part of a hand-over that is not settled" in answer.content.decode()


def test_a_sowing_is_handed_over(world: World, ben: Membership, as_person: SignIn) -> None:
    sowing = a_sowing(world.member, world.bench)
    page = f"{world.address}sowings/{sowing.code}/hand-over"
    answer = as_person(world.member).post(page, form(ben))
    as_person(ben).post(answer["Location"], {"act": "accept"})
    sowing.refresh_from_db()
    assert sowing.holder == ben.person


def test_a_bed_is_handed_over_whole(world: World, ben: Membership, as_person: SignIn) -> None:
    a_holding(world.bed, world.member)
    page = f"{world.address}beds/{world.bed.pk}/hand-over"
    client = as_person(world.member)
    text = client.get(page).content.decode()
    assert "This hands over the plot itself and 1 plant that you look after." in text
    answer = client.post(page, form(ben, from_day="2026-11-01"))
    text = client.get(answer["Location"]).content.decode()
    assert "From 1 November, Member hands Bed 3 with 1 plant to Ben Orchard." in text
    assert "Bed 3, the plot itself" in text
    as_person(ben).post(answer["Location"], {"act": "accept"})
    assert "It takes effect on 1 November." in client.get(answer["Location"]).content.decode()
    assert BedHolding.objects.get().person == world.member.person


def test_a_coordinator_chooses_whose_part_of_a_bed(
    world: World, ben: Membership, as_person: SignIn
) -> None:
    a_plant(world.owner, world.bed)
    a_plant(world.member, world.bed, holder=None)
    client = as_person(world.coordinator)
    page = f"{world.address}beds/{world.bed.pk}/hand-over"
    text = client.get(page).content.decode()
    assert "Whose part of the bed" in text
    assert "Looked after by Member now." in text
    for whose, words in (
        (world.owner.person_id, "Looked after by Owner now."),
        (0, "Nobody looks after it now."),
        (world.outsider.pk, "Nobody looks after it now."),
    ):
        assert words in client.get(f"{page}?whose={whose}").content.decode()
    answer = client.post(f"{page}?whose={world.owner.person_id}", form(ben))
    assert HandOver.objects.get().giver == world.owner.person
    assert answer.status_code == 302


def test_an_empty_bed_says_so(world: World, as_person: SignIn) -> None:
    empty = Place.objects.create(garden=world.garden, site=world.site, name="Bed 9", kind="bed")
    page = f"{world.address}beds/{empty.pk}/hand-over"
    client = as_person(world.member)
    assert "nothing here that you could hand over" in client.get(page).content.decode()
    answer = client.post(page, form(world.owner))
    assert answer.status_code == 422
    assert "There is nothing here to hand over." in answer.content.decode()


def test_committee_reads_and_outsiders_find_nothing(
    world: World, ben: Membership, as_person: SignIn
) -> None:
    made = proposed(world, ben)
    address = f"{world.address}hand-overs/{made.pk}"
    reading = as_person(world.committee)
    assert reading.get(address).status_code == 200
    assert reading.get(f"{world.address}hand-overs").status_code == 200
    assert reading.post(address, {"act": "accept"}).status_code == 403
    assert reading.get(f"{world.address}plants/{world.plant.code}/hand-over").status_code == 403
    other = MembershipFactory(person=world.outsider)
    for client, page in (
        (as_person(world.outsider), address),
        (as_person(world.outsider), f"/g/{other.garden.slug}/hand-overs/{made.pk}"),
    ):
        assert client.get(page).status_code == 404
        assert client.post(page, {"act": "accept"}).status_code == 404


@pytest.mark.parametrize("act", ["", "x", "settle"])
def test_an_unknown_act_changes_nothing(
    world: World, ben: Membership, as_person: SignIn, act: str
) -> None:
    made = proposed(world, ben)
    as_person(ben).post(f"{world.address}hand-overs/{made.pk}", {"act": act})
    made.refresh_from_db()
    assert made.state == State.PROPOSED


def test_the_list_costs_the_same_however_long(
    world: World, ben: Membership, as_person: SignIn
) -> None:
    client = as_person(world.member)

    def queries() -> int:
        with CaptureQueriesContext(connection) as caught:
            assert client.get(f"{world.address}hand-overs").status_code == 200
        return len(caught)

    proposed(world, ben)
    other = proposed(world, ben, load=load_of(a_plant(world.member, world.bed)))
    HandOver.objects.filter(pk=other.pk).update(state=State.DECLINED)
    few = queries()
    for number in range(15):
        plant = a_plant(world.member, world.bed)
        day = TODAY + timedelta(number)
        made = proposed(world, ben, load=load_of(plant), from_day=day)
        if number % 2:
            HandOver.objects.filter(pk=made.pk).update(state=State.DECLINED)
    assert queries() == few


def test_a_year_is_named_where_it_is_another(
    world: World, ben: Membership, as_person: SignIn
) -> None:
    made = proposed(world, ben)
    HandOver.objects.filter(pk=made.pk).update(from_day=date(2027, 1, 2))
    text = as_person(ben).get(f"{world.address}hand-overs/{made.pk}").content.decode()
    assert "From 2 January 2027" in text

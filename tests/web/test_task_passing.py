"""A task passes from hand to hand: offers, swaps, declining, and its history in sentences."""

from collections.abc import Callable

import pytest
from django.test import Client

from lifecycle.models import Membership, Message, Task, TaskOffer
from lifecycle.records.work.tasks import give, take
from lifecycle.reminders.ticks import dispatch_tick
from tests.conftest import World
from tests.factories import NOON, MembershipFactory, a_plant, a_task

SignIn = Callable[..., Client]


@pytest.fixture
def ana(world: World) -> Membership:
    return MembershipFactory(garden=world.garden, person__name="Ana")


@pytest.fixture
def client(world: World, as_person: SignIn) -> Client:
    return as_person(world.member)


@pytest.fixture
def task(world: World) -> Task:
    return a_task(world.plant, "lift")


def page_of(world: World, task: Task) -> str:
    return f"{world.address}tasks/{task.pk}"


def test_offered_told_and_taken_in_one_tap(
    world: World, client: Client, ana: Membership, task: Task, as_person: SignIn
) -> None:
    page = page_of(world, task)
    assert client.post(page, {"act": "offer", "offer-to": ana.person_id}).status_code == 302
    text = client.get(page).content.decode()
    assert "Offered to Ana, no answer yet." in text
    assert "Member offered it to Ana." in text
    dispatch_tick(now=NOON)
    asked = Message.objects.get(person=ana.person, channel="email")
    assert asked.subject == (
        "Northfield: Member offers you a task: Lift: Cayenne by the gate, Bed 3"
    )
    made = TaskOffer.objects.get()
    theirs = as_person(ana)
    assert "Offered to you" in theirs.get(f"{world.address}tasks").content.decode()
    offer_page = f"{world.address}offers/{made.pk}"
    assert "I take it" in theirs.get(offer_page).content.decode()
    assert "I take it" not in client.get(offer_page).content.decode()
    taken = theirs.post(offer_page, {"act": "accept"}, follow=True).content.decode()
    assert "Ana has taken it." in taken
    assert "Ana took it over from Member." in client.get(page).content.decode()
    dispatch_tick(now=NOON)
    told = Message.objects.get(
        person=world.member.person, about="task_offer_answer", channel="email"
    )
    assert told.subject == "Northfield: Ana takes it: Lift: Cayenne by the gate, Bed 3"


def test_a_swap_is_put_together_in_two_steps(
    world: World, client: Client, ana: Membership, task: Task, as_person: SignIn
) -> None:
    theirs = a_task(a_plant(ana, world.bed, name="Aji"), "mulch")
    page = page_of(world, task)
    chosen = client.post(page, {"act": "swap", "offer-to": ana.person_id})
    assert chosen["Location"] == f"{page}?with={ana.person_id}#swap"
    text = client.get(f"{page}?with={ana.person_id}").content.decode()
    assert "Mulch: Aji, Bed 3, by 20 October" in text
    wrong = client.post(
        f"{page}?with={ana.person_id}", {"act": "offer_swap", "swap-for_task": task.pk}
    )
    assert wrong.status_code == 422
    client.post(f"{page}?with={ana.person_id}", {"act": "offer_swap", "swap-for_task": theirs.pk})
    made = TaskOffer.objects.get()
    assert made.for_task == theirs
    other = as_person(ana)
    shown = other.get(f"{world.address}offers/{made.pk}").content.decode()
    assert "In exchange: Mulch: Aji" in shown
    other.post(f"{world.address}offers/{made.pk}", {"act": "accept"})
    assert "Member swapped it with Ana, who has it now." in client.get(page).content.decode()
    theirs.refresh_from_db()
    assert theirs.assignee == world.member.person


def test_refused_taken_back_and_past(
    world: World, client: Client, ana: Membership, task: Task, as_person: SignIn
) -> None:
    page, other = page_of(world, task), as_person(ana)
    client.post(page, {"act": "offer", "offer-to": ana.person_id})
    first = f"{world.address}offers/{TaskOffer.objects.latest('pk').pk}"
    for act in ("accept", "refuse"):
        assert client.post(first, {"act": act}).status_code == 422
    other.post(first, {"act": "refuse"})
    assert "Ana said no. It stays with Member." in client.get(first).content.decode()
    late = other.post(first, {"act": "accept"})
    assert "Ana said no to this already." in late.content.decode()
    client.post(page, {"act": "offer", "offer-to": ana.person_id})
    second = f"{world.address}offers/{TaskOffer.objects.latest('pk').pk}"
    client.post(second, {"act": "take_back"})
    assert "The offer was taken back." in other.get(second).content.decode()
    client.post(page, {"act": "offer", "offer-to": ana.person_id})
    third = f"{world.address}offers/{TaskOffer.objects.latest('pk').pk}"
    take(world.owner, task, now=NOON)
    past = other.post(third, {"act": "accept"})
    assert past.status_code == 422
    assert "The offer is past" in other.get(third).content.decode()


def test_declining_a_task_one_was_given(
    world: World, client: Client, task: Task, as_person: SignIn
) -> None:
    give(world.coordinator, task, world.member.person, now=NOON)
    page = page_of(world, task)
    assert "I cannot take it on" in client.get(page).content.decode()
    client.post(page, {"act": "decline", "decline-why": "My back"})
    text = client.get(page).content.decode()
    assert "Member declined: My back." in text
    assert "I will do it" in text
    late = client.post(page, {"act": "decline"})
    assert "This task is not with you" in late.content.decode()


def test_the_loser_of_a_race_is_told_who(
    world: World, client: Client, task: Task, as_person: SignIn
) -> None:
    page = page_of(world, task)
    take(world.owner, task, now=NOON)
    late = client.post(page, {"act": "take"})
    assert late.status_code == 422
    assert "Owner has taken this already." in late.content.decode()
    lead = as_person(world.coordinator)
    seen = {"act": "give", "give-to": world.member.person_id, "give-seen": "0"}
    assert "Owner has taken this meanwhile." in lead.post(page, seen).content.decode()
    seen["give-seen"] = str(world.owner.person_id)
    assert lead.post(page, seen).status_code == 302


def test_the_history_begins_with_its_making(world: World, client: Client, task: Task) -> None:
    page = page_of(world, task)
    client.post(page, {"act": "take"})
    client.post(page, {"act": "give_back"})
    client.post(page, {"act": "cannot", "cannot-why": "No spade"})
    client.post(page, {"act": "reopen"})
    text = client.get(page).content.decode()
    order = [
        "The plan made it a task.",
        "Member took it.",
        "Member gave it back.",
        "Member said that it cannot be done: No spade.",
        "Member opened it again.",
    ]
    places = [text.rindex(sentence) for sentence in order]
    assert places == sorted(places)
    assert "14 October, 12:00" in text


def test_offers_stay_in_their_garden(
    world: World, client: Client, ana: Membership, task: Task, as_person: SignIn
) -> None:
    client.post(page_of(world, task), {"act": "offer", "offer-to": ana.person_id})
    address = f"{world.address}offers/{TaskOffer.objects.get().pk}"
    assert as_person(world.outsider).get(address).status_code == 404
    committee = as_person(world.committee)
    assert committee.get(address).status_code == 200
    assert committee.post(address, {"act": "accept"}).status_code == 403
    for to in (world.outsider.pk, world.committee.person_id, world.member.person_id, "x", ""):
        refused = client.post(page_of(world, task), {"act": "offer", "offer-to": to})
        assert refused.status_code == 422, to
    assert TaskOffer.objects.count() == 1

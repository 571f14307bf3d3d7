"""Leaving, coming back and being erased, end to end on the pages with a clock that moves."""

from collections.abc import Callable
from datetime import timedelta

import pytest
import time_machine
from django.core import mail
from django.test import Client

from lifecycle.models import (
    HandOver,
    Membership,
    Message,
    Person,
    PushSubscription,
    Role,
)
from lifecycle.records.people.leaving import WINDOW
from lifecycle.reminders.ticks import dispatch_tick, plan_tick
from tests.conftest import World
from tests.factories import NOON, PASSWORD, MembershipFactory, a_task
from tests.records.everywhere import EMAIL, NAME, somebody
from tests.records.handings import a_holding, a_receiver

SignIn = Callable[[object], Client]


def signed_in(who: Person | Membership) -> Client:
    """Sign somebody in who has just given their password."""
    client = Client()
    client.force_login(who.person if isinstance(who, Membership) else who)
    session = client.session
    session["sure_at"] = NOON.timestamp()
    session.save()
    return client


def sure_at(client: Client, at: float) -> None:
    session = client.session
    session["sure_at"] = at
    session.save()


def test_leave_asks_once_more_and_then_goes(world: World) -> None:
    ben = a_receiver(world)
    a_holding(world.bed, world.member)
    a_task(world.plant, "cut_back", assignee=world.member.person)
    client, page = signed_in(world.member), f"{world.address}leave"
    text = client.get(page).content.decode()
    assert "Bed 3: the plot itself, 1 plant" in text
    assert "Nobody; coordinators are told" in text
    assert "/settings/export" in text
    choice = {"everything": ben.person_id, "name": "former"}
    text = client.post(page, choice).content.decode()
    assert "<h1>Leave Northfield?</h1>" in text
    assert "Ben Orchard is asked to take it" in text
    assert 'class="field warn"' in text
    assert Membership.objects.get(pk=world.member.pk).left_on is None
    answer = client.post(page, {**choice, "confirm": "1"})
    assert answer["Location"] == "/sign-in?left=2026-10-28"
    assert client.get(world.address).status_code == 302
    left = Membership.objects.get(pk=world.member.pk)
    assert (left.nameless, left.come_back_by) == (True, NOON + WINDOW)
    assert HandOver.objects.get().to == ben.person
    told = Message.objects.filter(channel="inbox").values_list("person__name", "about", "kind")
    assert set(told) == {("Ben Orchard", "hand_over", "handed"), ("Coordinator", "left", "lead")}
    dispatch_tick(now=NOON)
    words = {each.subject: each.body for each in mail.outbox}
    assert "Until 28 October you can come back" in words["You left Northfield"]
    assert "Bed 3, the plot itself and: Cayenne by the gate" in words["Northfield: Member left"]
    assert "2 tasks move" not in words["Northfield: Member asks you to take Bed 3 with 1 plant"]


@pytest.mark.parametrize(
    ("query", "said"),
    [
        ("left=2026-10-28", "Until 28 October 2026 you can come back: sign in here"),
        ("erased=2026-10-28", "your account will be erased after 28 October 2026"),
        ("left=soon", ""),
        ("erased=%00", ""),
        ("left=" + "9" * 5000, ""),
        ("ended=0", ""),
    ],
)
def test_sign_in_says_goodbye(world: World, query: str, said: str) -> None:
    text = Client().get(f"/sign-in?{query}").content.decode()
    assert (said in text) if said else ('role="status"' not in text)


def test_the_last_owner_reads_it_before_choosing(world: World) -> None:
    client = signed_in(world.owner)
    text = client.get(f"{world.address}leave").content.decode()
    assert "this is its last one. Make somebody else an owner first." in text
    assert "Go on" not in text
    assert "Northfield has no other owner" in client.get("/settings/erase").content.decode()
    MembershipFactory(garden=world.garden, role=Role.OWNER)
    assert "Go on" in client.get(f"{world.address}leave").content.decode()
    assert "no other owner" not in client.get("/settings/erase").content.decode()


def test_who_holds_nothing_is_not_asked_who_looks_after_it(world: World) -> None:
    text = signed_in(world.committee).get(f"{world.address}leave").content.decode()
    assert "Nothing is in your hands" in text
    assert "Who looks after it now?" not in text
    assert "Your name in the garden’s record" in text


def test_a_plant_of_who_left_says_so(world: World, as_person: SignIn) -> None:
    plant = f"{world.address}plants/{world.plant.code}"
    other = as_person(world.coordinator)
    assert "Held by Member." in other.get(plant).content.decode()
    signed_in(world.member).post(f"{world.address}leave", {"name": "keep", "confirm": "1"})
    assert "Held by Member, who left." in other.get(plant).content.decode()


def test_nobody_leaves_without_saying_who_they_are(world: World, as_person: SignIn) -> None:
    for page in (f"{world.address}leave", "/settings/erase", "/settings/export"):
        client = as_person(world.member)
        for answer in (client.get(page), client.post(page, {"confirm": "1"})):
            assert answer.status_code == 302
            assert answer["Location"].startswith("/sign-in/again?next=")
    assert Membership.objects.get(pk=world.member.pk).left_on is None
    assert signed_in(world.outsider).get(f"{world.address}leave").status_code == 404


def test_the_last_owner_is_told_what_to_do(world: World) -> None:
    page = f"{world.address}leave"
    answer = signed_in(world.owner).post(page, {"name": "keep", "confirm": "1"})
    assert answer.status_code == 422
    assert "Make somebody else an owner first" in answer.content.decode()
    answer = signed_in(world.owner).post("/settings/erase", {"act": "erase"})
    assert "Northfield: a garden needs an owner" in answer.content.decode()
    assert Membership.objects.get(pk=world.owner.pk).left_on is None


def test_what_is_chosen_is_checked(world: World) -> None:
    page = f"{world.address}leave"
    for wrong in ({"everything": world.outsider.pk, "name": "keep"}, {"name": "x"}, {}):
        answer = signed_in(world.member).post(page, {**wrong, "confirm": "1"})
        assert answer.status_code == 422, wrong
    assert Membership.objects.get(pk=world.member.pk).left_on is None


def test_coming_back_from_the_first_page(world: World) -> None:
    signed_in(world.member).post(f"{world.address}leave", {"name": "keep", "confirm": "1"})
    client = signed_in(Person.objects.get(pk=world.member.person_id))
    text = client.get("/").content.decode()
    assert "You left Northfield" in text
    assert "You can come back until 28 October" in text
    address = f"/come-back/{world.member.pk}"
    assert client.get(address).status_code == 405
    assert signed_in(world.outsider).post(address).status_code == 404
    assert client.post(address)["Location"] == world.address
    assert client.get(world.address).status_code == 200
    assert client.post(address)["Location"] == world.address


def test_coming_back_too_late_is_refused(world: World) -> None:
    signed_in(world.member).post(f"{world.address}leave", {"name": "keep", "confirm": "1"})
    with time_machine.travel(NOON + WINDOW, tick=False):
        client = signed_in(Person.objects.get(pk=world.member.person_id))
        assert "You left Northfield" not in client.get("/").content.decode()
        answer = client.post(f"/come-back/{world.member.pk}")
    assert "too late to come back" in answer.content.decode()


def test_leaving_one_of_two_gardens_leads_home(world: World) -> None:
    second = MembershipFactory(person=world.member.person)
    client = signed_in(world.member)
    page = f"{world.address}leave"
    assert client.post(page, {"name": "keep", "confirm": "1"})["Location"] == "/"
    text = client.get("/").content.decode()
    assert str(second.garden) in text
    assert "Come back to Northfield" in text


def test_erased_end_to_end(world: World) -> None:
    """Two people on two devices, fourteen days, and a record that does not know her any more."""
    ana = somebody(world)
    ana.set_password(PASSWORD)
    ana.save()
    PushSubscription.objects.create(
        person=ana, endpoint="https://push.example/1", p256dh="x", auth="x", made_at=NOON
    )
    phone, desk, other = signed_in(ana), signed_in(ana), signed_in(world.coordinator)
    plant = f"{world.address}plants/{world.plant.code}"
    assert NAME in other.get(plant).content.decode()
    text = phone.post("/settings/erase", {"act": "confirm"}).content.decode()
    assert "Erase your account?" in text
    assert "After 28 October" in text
    assert phone.post("/settings/erase", {"act": "erase"})["Location"] == (
        "/sign-in?erased=2026-10-28"
    )
    for client in (phone, desk):
        assert client.get("/settings")["Location"].startswith("/sign-in")
    assert not PushSubscription.objects.exists()
    assert other.get(plant).status_code == 200
    dispatch_tick(now=NOON)
    assert any("will be erased after 28 October" in each.subject for each in mail.outbox)
    mail.outbox.clear()
    with time_machine.travel(NOON + timedelta(days=13, hours=2), tick=False):
        plan_tick(now=NOON + timedelta(days=13, hours=2))
        plan_tick(now=NOON + timedelta(days=13, hours=3))
        dispatch_tick(now=NOON + timedelta(days=13, hours=3))
    assert [each.subject for each in mail.outbox if each.to == [EMAIL]] == [
        "Today is the last day of your account"
    ]
    with time_machine.travel(NOON + WINDOW, tick=False):
        plan_tick(now=NOON + WINDOW)
        plan_tick(now=NOON + WINDOW)
        text = signed_in(world.coordinator).get(plant).content.decode()
        assert NAME not in text
        assert "Former member" in text
        answer = Client().post("/sign-in", {"username": EMAIL, "password": PASSWORD})
        assert answer.status_code == 422
    assert not Person.objects.filter(email=EMAIL).exists()
    assert Person.objects.filter(erased_at__isnull=False).count() == 1


def test_keeping_the_account_after_all(world: World) -> None:
    signed_in(world.member).post("/settings/erase", {"act": "erase"})
    person = Person.objects.get(pk=world.member.person_id)
    assert person.erase_after == NOON + WINDOW
    client = signed_in(person)
    text = client.get("/").content.decode()
    assert "Your account will be erased after 28 October" in text
    assert client.get("/settings/keep").status_code == 405
    assert client.post("/settings/keep")["Location"] == "/"
    assert client.post("/settings/keep").status_code == 422
    client.post(f"/come-back/{world.member.pk}")
    plan_tick(now=NOON + WINDOW + timedelta(1))
    person.refresh_from_db()
    assert (person.erase_after, person.erased_at, person.name) == (None, None, "Member")
    assert Membership.objects.get(pk=world.member.pk).left_on is None


def test_joining_again_keeps_the_account(world: World) -> None:
    signed_in(world.member).post("/settings/erase", {"act": "erase"})
    person = Person.objects.get(pk=world.member.person_id)
    MembershipFactory(person=person, role=Role.MEMBER)
    plan_tick(now=NOON + WINDOW)
    person.refresh_from_db()
    assert (person.erase_after, person.erased_at) == (None, None)


@pytest.mark.parametrize("act", ["", "x"])
def test_an_unknown_act_erases_nothing(world: World, act: str) -> None:
    signed_in(world.member).post("/settings/erase", {"act": act})
    assert Person.objects.get(pk=world.member.person_id).erase_after is None

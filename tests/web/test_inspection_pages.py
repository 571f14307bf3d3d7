"""The inspection log on its pages: found, told, overdue first, closed."""

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from lifecycle.models import BedHolding, Inspection, Message, Place
from lifecycle.records.ground.inspections import look
from tests.conftest import World
from tests.factories import NOON, PlaceFactory, SiteFactory

pytestmark = pytest.mark.django_db
SignIn = Callable[[object], Client]
TODAY = NOON.date()


def read(response: Any) -> str:
    return " ".join(response.content.decode().split())


def queries(page: Client, address: str) -> int:
    with CaptureQueriesContext(connection) as found:
        assert page.get(address).status_code == 200
    return len(found)


def a_plot(world: World) -> Place:
    plot = PlaceFactory(site=world.site, common=False, name="Plot 7")
    BedHolding.objects.create(
        garden=world.garden, place=plot, person=world.member.person, since=date(2026, 3, 1)
    )
    return plot


def finding(**more: Any) -> dict[str, Any]:
    return {
        "looked_on": TODAY.isoformat(),
        "found": "to_do",
        "finding": "Bindweed over the path",
        "put_right_by": "",
        **more,
    }


def test_a_finding_is_saved_told_and_closed(world: World, as_person: SignIn) -> None:
    plot = a_plot(world)
    page, address = as_person(world.coordinator), f"{world.address}beds/{plot.pk}/inspect"
    assert "Held by Member" in read(page.get(address))
    assert "Gardens’ own rules give 10 days to a month." in read(page.get(address))
    saved = page.post(address, finding(), follow=True)
    assert "Told this evening: Member." in read(saved)
    page.post(address, finding())
    assert Inspection.objects.count() == 1
    assert Message.objects.filter(person=world.member.person, channel="email").count() == 1
    listed = read(page.get(f"{world.address}inspections"))
    assert "Inspections: 1 waiting to be put right" in listed
    assert "Put right by 28 October; told Member" in listed
    pk = Inspection.objects.get().pk
    page.post(f"{world.address}inspections", {"inspection": pk})
    assert "nothing to put right" in read(page.get(f"{world.address}inspections"))
    assert "Closed 14 October by Coordinator." in read(page.get(address))


def test_what_is_overdue_comes_first(world: World, as_person: SignIn) -> None:
    plot = a_plot(world)
    early = NOON - timedelta(days=20)
    look(
        world.coordinator,
        plot,
        looked_on=early.date(),
        in_order=False,
        finding="Hose",
        put_right_by=None,
        now=early,
    )
    text = read(as_person(world.owner).get(f"{world.address}inspections"))
    assert "Inspections: 1 overdue" in text
    assert "Was to be put right by 8 October" in text


@pytest.mark.parametrize(
    "wrong",
    [
        {"found": ""},
        {"finding": ""},
        {"looked_on": "2026-10-15"},
        {"put_right_by": "2026-10-13"},
        {"put_right_by": "soon"},
    ],
)
def test_a_finding_that_cannot_be_is_refused(
    world: World, as_person: SignIn, wrong: dict[str, str]
) -> None:
    page = as_person(world.owner)
    refused = page.post(f"{world.address}beds/{world.bed.pk}/inspect", finding(**wrong))
    assert refused.status_code == 422
    assert not Inspection.objects.exists()


def test_in_order_with_something_to_put_right_is_one_or_the_other(
    world: World, as_person: SignIn
) -> None:
    page = as_person(world.owner)
    address = f"{world.address}beds/{world.bed.pk}/inspect"
    refused = page.post(address, finding(found="in_order", finding="Weeds by the path."))
    text = read(refused)
    assert refused.status_code == 422
    assert "You ticked “In order” and wrote what is to be put right." in text
    assert "Weeds by the path.</textarea>" in text
    assert not Inspection.objects.exists()
    page.post(address, finding(finding="Weeds by the path."))
    log = read(page.get(f"{world.address}inspections"))
    assert "By Owner: Weeds by the path.<" in log
    assert ".." not in log


@pytest.mark.parametrize("who", ["member", "committee"])
def test_who_may_not_inspect(world: World, as_person: SignIn, who: str) -> None:
    page, address = as_person(getattr(world, who)), f"{world.address}beds/{world.bed.pk}/inspect"
    assert page.get(address).status_code == 403
    assert page.post(address, finding()).status_code == 403
    assert page.post(f"{world.address}inspections", {"inspection": 1}).status_code == 403


@pytest.mark.parametrize("text", ["", "x", "0", "99999999999"])
def test_what_is_not_there_cannot_be_closed(world: World, as_person: SignIn, text: str) -> None:
    posted = as_person(world.owner).post(f"{world.address}inspections", {"inspection": text})
    assert posted.status_code == 404


def test_a_bed_found_in_order_cannot_be_closed(world: World, as_person: SignIn) -> None:
    page, address = as_person(world.owner), f"{world.address}beds/{world.bed.pk}/inspect"
    page.post(address, finding(found="in_order", finding=""))
    pk = Inspection.objects.get().pk
    refused = page.post(address, {"act": "close", "inspection": pk})
    assert refused.status_code == 422
    assert "nothing to close" in read(refused)


def test_queries_do_not_grow_with_inspections(world: World, as_person: SignIn) -> None:
    page, address = as_person(world.owner), f"{world.address}inspections"
    page.post(f"{world.address}beds/{a_plot(world).pk}/inspect", finding())
    few = queries(page, address)
    for number in range(10):
        place = PlaceFactory(site=world.site)
        page.post(f"{world.address}beds/{place.pk}/inspect", finding(finding=f"Weed {number}"))
    assert queries(page, address) == few


def test_beds_of_one_name_are_told_apart(world: World, as_person: SignIn) -> None:
    plot = a_plot(world)
    other = PlaceFactory(site=SiteFactory(garden=world.garden, name="Mill Lane"), name="Plot 7")
    page = as_person(world.coordinator)
    for place in (plot, other):
        page.post(f"{world.address}beds/{place.pk}/inspect", finding())
    listed = read(page.get(f"{world.address}inspections"))
    for site in ("Canal bank", "Mill Lane"):
        assert f"Plot 7, {site}: Bindweed over the path" in listed
        assert f"Plot 7, {site}, 14 October" in listed
    one = read(page.get(f"{world.address}beds/{other.pk}/inspect"))
    assert "<h1>Inspection of Plot 7, Mill Lane</h1>" in one

"""The committee’s report with every kind of entry: two taps to it, four pages on paper."""

import re
from datetime import date, timedelta
from uuid import uuid4

import pytest
from playwright.sync_api import Page

from lifecycle.life.kinds import Kind
from lifecycle.models import Entry, Person
from lifecycle.records.year.closing import close_year
from tests.browser.conftest import Clock
from tests.browser.gardener import Gardener
from tests.conftest import World
from tests.factories import PASSWORD
from tests.records.report_world import CLOSING, YEAR, at, logged, write_down

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

PDF_PAGE = re.compile(rb"/Type\s*/Page(?!s)")
MOST_PAGES = 4


def test_two_taps_lead_to_it_and_it_prints_on_four_pages(
    world: World, clock: Clock, live_server, phone: Page
) -> None:
    clock.set(date(2026, 2, 1))
    found = write_down(world)
    every_kind(world)
    close_year(world.owner, YEAR, now=CLOSING)
    later = CLOSING + timedelta(days=1)
    for day in (date(2025, 8, 20), date(2025, 8, 21)):
        logged(world.member, found["fresh"], Kind.PICKED, day, now=later, quantity=250.0)
    gardener = Gardener(phone, live_server.url)
    sign_in(gardener, world.committee.person)
    gardener.go(world.address)
    gardener.press("More")
    gardener.press(re.compile("Report of the year"))
    assert phone.locator("h1").inner_text() == "Growing year 2025: 1 January to 31 December 2025"
    assert phone.locator("tbody tr").count() > 80
    wide = phone.evaluate("document.documentElement.scrollWidth")
    assert wide <= 360
    assert len(PDF_PAGE.findall(phone.pdf(format="A4"))) <= MOST_PAGES


def every_kind(world: World) -> None:
    """Write an entry of every kind there is: the report only counts them."""
    day = date(2025, 6, 6)
    Entry.objects.bulk_create(
        Entry(
            garden=world.garden,
            uuid=uuid4(),
            plant=world.plant,
            kind=kind,
            happened_on=day,
            received_at=at(day),
            stands_at=at(day),
            by=world.member.person,
        )
        for kind in Kind
    )


def sign_in(gardener: Gardener, person: Person) -> None:
    """Sign in with the tests' password."""
    gardener.page.goto(f"{gardener.address}/sign-in")
    gardener.fill("E-mail address", person.email)
    gardener.fill("Password", PASSWORD)
    gardener.press("Sign in")

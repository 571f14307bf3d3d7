"""A coordinator's afternoon before a frost, in a real Chromium: three taps, and it is on its way.

The one asked answers from the mail with one tap on one page, without signing in; the list prints
on one page.
"""

import re
from dataclasses import dataclass
from datetime import date, timedelta

import pytest
from django.core import mail
from django.utils import timezone
from playwright.sync_api import Browser, Page

from lifecycle import jobs
from lifecycle.models import Ask, Entry, FrostBed, FrostNight, Garden, Membership, Role, Site
from lifecycle.records.nights.covers import add_cover
from lifecycle.records.nights.rota import join
from lifecycle.records.weather.weather import type_seven_nights
from tests.browser.conftest import Clock
from tests.browser.gardener import PASSWORD, Gardener
from tests.browser.test_pages import faults
from tests.factories import (
    GardenFactory,
    MembershipFactory,
    PersonFactory,
    PlaceFactory,
    SiteFactory,
    a_plant,
)

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

DAY = date(2026, 10, 14)
PDF_PAGE = re.compile(rb"/Type\s*/Page(?!s)")


class Taps(Gardener):
    """A gardener whose taps are counted."""

    def __init__(self, page: Page, address: str) -> None:
        super().__init__(page, address)
        self.number = 0

    def tap(self, words: str) -> None:
        """Tap the button or link whose name is like this."""
        self.number += 1
        self.press(re.compile(words))


@dataclass(frozen=True)
class Ground:
    """The garden of the afternoon."""

    garden: Garden
    site: Site
    coordinator: Membership
    on_call: tuple[Membership, ...]


@pytest.fixture
def ground(clock: Clock) -> Ground:
    """Return a garden with fourteen peppers in four places, covers, and two people on call."""
    clock.set(DAY)
    garden = GardenFactory(name="Northfield", slug="northfield")
    site = SiteFactory(
        garden=garden, name="Canal bank", time_zone="America/Denver", longitude=-105.0
    )
    coordinator, first, second = (
        MembershipFactory(
            garden=garden,
            role=role,
            person=PersonFactory(name=name, email=f"{name.lower()}@garden.example", phone=phone),
        )
        for name, role, phone in (
            ("Ada", Role.COORDINATOR, "555 0100"),
            ("Bram", Role.MEMBER, "555 0101"),
            ("Cleo", Role.MEMBER, "555 0102"),
        )
    )
    for person in (coordinator.person, first.person, second.person):
        person.set_password(PASSWORD)
        person.save()
    places = [
        PlaceFactory(site=site, name=f"Bed {number}", position=number) for number in (1, 2, 3)
    ] + [PlaceFactory(site=site, name="Pots by the wall", kind="bench", position=4)]
    for number in range(14):
        a_plant(first, places[number % 4], name=f"Cayenne {number + 1}", now=clock.now)
    add_cover(coordinator, site, protection="water_wall", pieces=9, area_m2=2.0, kept_in="shed 2")
    for member in (first, second):
        join(member, site, first_day=DAY, last_day=DAY + timedelta(6), wakes=False, now=clock.now)
    lows = [-0.5, 4.0, 6.0, 9.0, 9.0, 9.0, 9.0]
    type_seven_nights(coordinator, site, first_night=DAY, lows_c=lows, now=clock.now)
    return Ground(garden, site, coordinator, (first, second))


def tick() -> None:
    """Run the ticks of a minute."""
    for name in ("frost", "dispatch"):
        getattr(jobs, f"{name}_tick").delay(timezone.now().isoformat())


def test_a_coordinators_afternoon_takes_three_taps(
    ground: Ground, live_server, settings, phone: Page, chromium: Browser
) -> None:
    settings.SITE_URL = live_server.url
    tick()
    assert FrostNight.objects.get(night=DAY).state == "called"
    ada = Taps(phone, live_server.url)
    sign_in(ada, "ada")
    ada.go(f"/g/{ground.garden.slug}/")
    assert ada.sees("Frost tonight: cover by ")
    assert faults(phone) == []
    ada.tap("See what to cover")
    assert ada.heading().startswith(
        "Frost likely tonight: cover 11 plants in 3 beds and bring in 3 by "
    )
    assert faults(phone) == []
    assert printed_pages(phone) == 1

    ada.tap("Ask the rota now")
    asked = Ask.objects.select_related("person")
    assert {ask.person for ask in asked} == {member.person for member in ground.on_call}
    tick()
    bram = next(letter for letter in mail.outbox if letter.to == ["bram@garden.example"])
    [link] = set(re.findall(rf"{live_server.url}/a/\d+/\S+", bram.body))
    accept(link, chromium)
    assert Ask.objects.get(person__name="Bram").state == Ask.State.ACCEPTED
    assert Ask.objects.get(person__name="Cleo").state == Ask.State.ASKED

    phone.reload()
    assert ada.sees("Accepted: Bram")
    ada.tap("^Covered.*Bed 1$")
    assert ada.sees("Bed 1: covered saved ")
    assert FrostBed.objects.get(place__name="Bed 1", frost_night__night=DAY).mark == "done"
    assert Entry.objects.standing().filter(kind="covered").count() == 4
    assert ada.number == 3
    assert faults(phone) == []


def test_a_dozen_places_print_on_one_page(ground: Ground, live_server, phone: Page, clock) -> None:
    for number in range(5, 13):
        place = PlaceFactory(site=ground.site, name=f"Bed {number}", position=number)
        for plant in range(6):
            a_plant(ground.on_call[0], place, name=f"Aji {number}-{plant}", now=clock.now)
    tick()
    ada = Taps(phone, live_server.url)
    sign_in(ada, "ada")
    ada.go(f"/g/{ground.garden.slug}/frost/{ground.site.pk}/{DAY}")
    assert FrostBed.objects.filter(frost_night__night=DAY).count() == 12
    assert printed_pages(phone) == 1


def sign_in(gardener: Gardener, name: str) -> None:
    """Sign in; a session lasts for weeks, so these taps are not those of the afternoon."""
    gardener.page.goto(f"{gardener.address}/sign-in")
    gardener.fill("E-mail address", f"{name}@garden.example")
    gardener.fill("Password", PASSWORD)
    gardener.press("Sign in")


def accept(link: str, chromium: Browser) -> None:
    """Open the mailed link on a phone that never signed in, twice, and tap Yes once."""
    context = chromium.new_context(viewport={"width": 360, "height": 760})
    page = context.new_page()
    for _ in range(2):
        page.goto(link)
        assert Ask.objects.filter(state=Ask.State.ACCEPTED).count() == 0
    assert faults(page) == []
    page.get_by_role("button", name="Yes, I will come").click()
    page.wait_for_load_state()
    assert "You said yes" in page.locator("body").inner_text()
    assert not [cookie for cookie in context.cookies() if cookie["name"] == "sessionid"]
    context.close()


def printed_pages(page: Page) -> int:
    """Return on how many A4 pages the page prints."""
    return len(PDF_PAGE.findall(page.pdf(format="A4")))

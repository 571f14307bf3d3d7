"""A newcomer with the letter in hand: at most four fields and six screens to the first entry.

The bounds and the way (open the link, say who one is, see one's bed) are those of job d of the
user-experience anchors. Every page of people is looked at by axe, narrow and wide.
"""

import re
from collections.abc import Callable
from datetime import timedelta

import pytest
from django.core import mail
from django.utils import timezone
from playwright.sync_api import Page

from lifecycle import jobs
from lifecycle.models import Entry, Garden, Joining, Membership, Person, Place, Role
from lifecycle.records.ground.holdings import beds_held_by
from lifecycle.records.people.invitations import invite, link_path, take_back
from lifecycle.records.people.join_link import join_path
from lifecycle.records.people.waiting import add_waiting
from lifecycle.records.secrets import new_nonce
from tests.browser.gardener import PASSWORD
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

MOST_FIELDS, MOST_SCREENS = 4, 6
ADDRESS = "anna@newcomer.example"
TYPED = "input:not([type=hidden]):visible, select:visible, textarea:visible"


@pytest.fixture
def bed() -> Place:
    """Return a bed with a plant, in a garden with a safety notice."""
    garden = GardenFactory(
        name="Northfield",
        slug="northfield",
        safety="Shut off the water when you go.\n\nGloves and no hands to the eyes: hot peppers.",
        waiver="I come at my own risk.",
    )
    bed = PlaceFactory(site=SiteFactory(garden=garden), name="Bed 3")
    owner = MembershipFactory(
        garden=garden,
        role=Role.OWNER,
        person=PersonFactory(name="Olive Reed", email="owner@garden.example"),
    )
    owner.person.set_password(PASSWORD)
    owner.person.save()
    a_plant(
        owner,
        bed,
        name="Cayenne by the gate",
        happened_on=timezone.now().date() - timedelta(days=60),
        now=timezone.now(),
    )
    return bed


def owner_of(garden: Garden) -> Membership:
    return Membership.objects.get(garden=garden, role=Role.OWNER)


class Screens:
    """Counts the pages that a reader gets to see."""

    def __init__(self, page: Page) -> None:
        self.addresses: list[str] = []
        page.on("domcontentloaded", lambda shown: self.addresses.append(shown.url))


def test_from_the_letter_to_the_first_entry(bed, live_server, phone, settings):
    settings.SITE_URL = live_server.url
    now = timezone.now()
    invite(owner_of(bed.garden), email=ADDRESS, name="Anna Berg", place=bed, now=now)
    jobs.dispatch_tick.delay(timezone.now().isoformat())
    [letter] = [sent for sent in mail.outbox if ADDRESS in sent.to]
    [link] = re.findall(rf"{live_server.url}/i/\S+", str(letter.body))
    screens = Screens(phone)

    phone.goto(link)
    fields = phone.locator(TYPED).count()
    assert phone.get_by_label("Your name", exact=True).input_value() == "Anna Berg"
    phone.get_by_label("I have read the safety notice").check()
    phone.get_by_label("This is my phone or computer").check()
    phone.get_by_role("button", name="Join").click()
    phone.wait_for_load_state()

    assert phone.locator("h1").inner_text() == "Your bed and this week"
    phone.get_by_role("link", name="Cayenne by the gate").first.click()
    phone.wait_for_load_state()
    phone.get_by_role("button", name="Watered").first.click()
    phone.wait_for_load_state()

    person = Person.objects.get(email=ADDRESS)
    entry = Entry.objects.get(by=person)
    assert (entry.kind, entry.plant.name) == ("watered", "Cayenne by the gate")
    assert beds_held_by(person, bed.garden_id, bed.site.local_day(now)) == [bed]
    assert fields <= MOST_FIELDS
    assert len(screens.addresses) <= MOST_SCREENS, screens.addresses
    # No second confirmation: the letter showed that the address is theirs.
    assert [sent for sent in mail.outbox if ADDRESS in sent.to] == [letter]


def test_by_keyboard_alone(bed, live_server, phone):
    made = invite(owner_of(bed.garden), email=ADDRESS, now=timezone.now())
    phone.goto(f"{live_server.url}{link_path(made)}")
    phone.get_by_label("Your name", exact=True).focus()
    keys = phone.keyboard
    keys.type("Anna Berg")
    for key in ("Tab", "Tab", "Space", "Tab", "Space", "Tab", "Enter"):
        keys.press(key)
    phone.wait_for_url(re.compile("/welcome$"))
    member = Membership.objects.get(person__email=ADDRESS)
    assert member.safety_read_at is not None


def looked_at(phone: Page) -> Callable[[str, str], None]:
    """Return a way to open a page at both widths; it fails on what axe or the eye would find."""

    def look(name: str, address: str) -> None:
        for width in (320, 1280):
            phone.set_viewport_size({"width": width, "height": 6000})
            phone.goto(address)
            assert faults(phone) == [], (name, width)

    return look


def test_pages_before_joining_for_axe(bed, live_server, phone):
    now, owner = timezone.now(), owner_of(bed.garden)
    made = invite(owner, email=ADDRESS, place=bed, now=now)
    look, link = looked_at(phone), f"{live_server.url}{link_path(made)}"
    look("Accept", link)
    phone.get_by_role("button", name="Join").click()
    phone.wait_for_load_state()
    assert phone.title().startswith("Error: ")
    assert faults(phone) == []
    PersonFactory(email=ADDRESS)
    look("Accept, has an account", link)
    take_back(owner, made, now=now)
    look("Accept, taken back", link)
    look("Accept, unknown", f"{link}x")
    for joining in (Joining.OPEN, Joining.WAITING):
        Garden.objects.update(joining=joining, join_nonce=new_nonce())
        path = f"{live_server.url}{join_path(Garden.objects.get())}"
        look(f"Join, {joining}", path)
        look(f"Join, asked, {joining}", f"{path}?asked=1")


def test_pages_of_people_for_axe(bed, live_server, phone):
    now, garden = timezone.now(), bed.garden
    owner = owner_of(garden)
    member = MembershipFactory(garden=garden, skills=["ladder"])
    made = invite(owner, email=ADDRESS, place=bed, now=now)
    joined = invite(owner, email="b@newcomer.example", now=now)
    given = {"note": "By bike", "asked_on": bed.site.local_day(now), "now": now}
    add_waiting(owner, name="Ben", email="ben@newcomer.example", **given)
    Garden.objects.update(joining=Joining.OPEN, join_nonce=new_nonce())

    phone.goto(f"{live_server.url}/sign-in")
    phone.get_by_label("E-mail address", exact=True).fill("owner@garden.example")
    phone.get_by_label("Password", exact=True).fill(PASSWORD)
    phone.get_by_role("button", name="Sign in").click()
    phone.wait_for_load_state()
    base, look = f"{live_server.url}/g/{garden.slug}", looked_at(phone)
    person = f"people/{member.person_id}"
    for path in (
        *("people", person, f"{person}/role", f"{person}/out", "people/invite", "people/waiting"),
        *(f"people/invitations/{made.pk}", "settings", "audit", "me", "welcome"),
    ):
        look(path, f"{base}/{path}")
    look("Accept as another", f"{live_server.url}{link_path(joined)}")
    phone.goto(f"{base}/people/invite")
    phone.get_by_label("One person a line").fill(
        "Ben, ben at newcomer\nAnna, anna@newcomer.example"
    )
    phone.get_by_role("button", name="Invite everybody of the list").click()
    phone.wait_for_load_state()
    for width in (320, 1280):
        phone.set_viewport_size({"width": width, "height": 6000})
        assert faults(phone) == []

"""A coordinator's Sunday evening in a real Chromium: a week of work shared out and published.

Twenty tasks in at most forty taps and one message a person; by keyboard alone as well; by the
fair proposal in three. A tap is a press of the pointer, counted by the page itself; choosing
from a list counts two.
"""

import re
from dataclasses import dataclass
from datetime import date

import pytest
from django.core import mail
from django.utils import timezone
from playwright.sync_api import Page

from lifecycle import jobs
from lifecycle.models import Garden, Membership, Message, Publication, Role, Task
from tests.browser.conftest import Clock
from tests.browser.gardener import PASSWORD, Gardener
from tests.browser.test_frost_afternoon import printed_pages, sign_in
from tests.browser.test_pages import faults
from tests.factories import (
    GardenFactory,
    MembershipFactory,
    PersonFactory,
    PlaceFactory,
    SiteFactory,
    a_plant,
    a_task,
)

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

SUNDAY = date(2026, 10, 18)
NAMES = ("Bram", "Cleo", "Dara", "Emil")
TASKS, MOST_TAPS = 20, 40
COUNT = """addEventListener('pointerdown', event => event.isTrusted &&
  sessionStorage.setItem('taps', 1 + Number(sessionStorage.getItem('taps'))), true)"""


@dataclass(frozen=True)
class Evening:
    """The garden, its coordinator, and whom work can be given to."""

    garden: Garden
    coordinator: Membership
    members: tuple[Membership, ...]


@pytest.fixture
def evening(clock: Clock) -> Evening:
    """Return a garden with twenty tasks in twenty beds that nobody has, on a Sunday noon."""
    clock.set(SUNDAY)
    garden = GardenFactory(name="Northfield", slug="northfield")
    site = SiteFactory(garden=garden, name="Canal bank", time_zone="America/Denver")
    coordinator, *members = (
        MembershipFactory(
            garden=garden,
            role=Role.MEMBER if name in NAMES else Role.COORDINATOR,
            person=PersonFactory(name=name, email=f"{name.lower()}@garden.example"),
        )
        for name in ("Ada", *NAMES)
    )
    coordinator.person.set_password(PASSWORD)
    coordinator.person.save()
    for number in range(TASKS):
        bed = PlaceFactory(site=site, name=f"Bed {number + 1}", position=number + 1)
        plant = a_plant(coordinator, bed, name=f"Aji {number + 1}", holder=None, now=clock.now)
        days = [date(2026, 10, day) for day in (17, 20, 21 + number // 10)]
        a_task(plant, "cut_back", earliest=days[0], best=days[1], latest=days[2])
    return Evening(garden, coordinator, tuple(members))


def taps_of(page: Page) -> int:
    """Return how often the pointer was pressed since counting began."""
    return int(page.evaluate("Number(sessionStorage.getItem('taps'))"))


def begin(page: Page, address: str, garden: Garden) -> Gardener:
    """Sign in, open Coordinate, and count from there."""
    ada = Gardener(page, address)
    sign_in(ada, "ada")
    page.add_init_script(COUNT)
    ada.go(f"/g/{garden.slug}/coordinate")
    assert faults(page) == []
    page.evaluate("sessionStorage.setItem('taps', 0)")
    return ada


def told(evening: Evening) -> dict[str, int]:
    """Send what waits, and return how many mails each person got."""
    jobs.dispatch_tick.delay(timezone.now().isoformat())
    letters = [letter.to[0] for letter in mail.outbox]
    return {name: letters.count(f"{name.lower()}@garden.example") for name in ("Ada", *NAMES)}


def shares() -> dict[str, int]:
    """Return how many tasks each person has by name."""
    names = list(Task.objects.values_list("assignee__name", flat=True))
    return {name: names.count(name) for name in {*names}}


def test_twenty_tasks_are_given_out_and_published_in_forty_taps(
    evening: Evening, live_server, settings, phone: Page
) -> None:
    settings.SITE_URL = live_server.url
    ada = begin(phone, live_server.url, evening.garden)
    chosen = 0
    ada.press("Share out the week’s work")
    assert ada.heading() == "The week’s work: 20 things have nobody"
    assert faults(phone) == []
    for start, name in zip(range(0, TASKS, 5), NAMES, strict=True):
        for number in range(start, start + 5):
            row = phone.get_by_role("row").filter(has_text=re.compile(rf"Aji {number + 1}\b"))
            row.get_by_role("checkbox").click()
        ada.choose("Give what is ticked to", name)
        chosen += 2
        ada.press("Give")
        assert ada.sees("5 tasks drafted. Nobody is told before you publish.")
    assert faults(phone) == []
    assert Message.objects.count() == 0
    ada.press("Send 4 people one message each now")
    assert taps_of(phone) + chosen == 1 + TASKS + 4 * 3 + 1
    assert taps_of(phone) + chosen <= MOST_TAPS
    assert shares() == dict.fromkeys(NAMES, 5)
    assert told(evening) == {"Ada": 0, **dict.fromkeys(NAMES, 1)}
    assert ada.heading() == "Work from 18 October to 24 October 2026"
    assert faults(phone) == []
    assert printed_pages(phone) <= 2


def test_the_fair_proposal_takes_three_taps(
    evening: Evening, live_server, settings, phone: Page
) -> None:
    settings.SITE_URL = live_server.url
    ada = begin(phone, live_server.url, evening.garden)
    ada.press("Share out the week’s work")
    ada.press("Propose fair shares")
    assert ada.sees("The heaviest share is 60 minutes; it cannot be smaller")
    assert ada.sees("4 things, about 60 minutes.")
    assert faults(phone) == []
    ada.press("Send 5 people one message each now")
    assert taps_of(phone) == 3
    assert shares() == dict.fromkeys(("Ada", *NAMES), 4)
    assert told(evening) == dict.fromkeys(("Ada", *NAMES), 1)


class Keys:
    """A coordinator without a mouse: Tab, Space, Enter and arrows, by what has the focus."""

    def __init__(self, page: Page) -> None:
        self.page = page

    def focus(self) -> str:
        """Return what has the focus: its kind and its words, or its label's."""
        return str(
            self.page.evaluate(
                """() => {
  const here = document.activeElement
  const label = here.labels?.[0]?.innerText ?? here.innerText
  const row = here.closest('tr')?.innerText ?? ''
  return `${here.localName} ${label} ${row}`.replace(/\\s+/g, ' ')
}"""
            )
        )

    def to(self, words: str, most: int = 120) -> None:
        """Press Tab until what has the focus is like this, and can be seen."""
        for _ in range(most):
            self.page.keyboard.press("Tab")
            if re.search(words, self.focus()):
                assert not self.hidden_behind_the_bar(), self.focus()
                return
        raise AssertionError(f"“{words}” is not reached by Tab.")

    def hidden_behind_the_bar(self) -> bool:
        """Return whether something that sticks to the screen covers what has the focus."""
        return bool(
            self.page.evaluate(
                """() => {
  const here = document.activeElement, box = here.getBoundingClientRect()
  const top = document.elementFromPoint(box.x + box.width / 2, box.y + box.height / 2)
  return !(top && (here.contains(top) || top.contains(here) || here.labels?.[0]?.contains(top)))
}"""
            )
        )

    def press(self, *keys: str) -> None:
        """Press keys one after the other."""
        for key in keys:
            self.page.keyboard.press(key)

    def enter(self) -> None:
        """Press Enter and wait for the next page."""
        with self.page.expect_navigation():
            self.page.keyboard.press("Enter")


def test_the_same_by_keyboard_alone(evening: Evening, live_server, settings, phone: Page) -> None:
    settings.SITE_URL = live_server.url
    ada = begin(phone, live_server.url, evening.garden)
    keys = Keys(phone)
    keys.to("a Share out the week’s work")
    keys.enter()
    for turn, name in enumerate(NAMES):
        for number in range(turn * 5 + 1, turn * 5 + 6):
            keys.to(rf"input .*Aji {number}\b")
            keys.press("Space")
        keys.to("select Give what is ticked to", most=60)
        # The list begins with “Choose a person” and the coordinator.
        keys.press(*["ArrowDown"] * (turn + 2))
        assert phone.evaluate("document.activeElement.selectedOptions[0].text") == name
        keys.to("button Give")
        keys.enter()
        assert ada.sees("5 tasks drafted.")
    keys.to("button Send 4 people one message each now", most=60)
    keys.enter()
    assert taps_of(phone) == 0
    assert shares() == dict.fromkeys(NAMES, 5)
    assert told(evening) == {"Ada": 0, **dict.fromkeys(NAMES, 1)}
    assert Publication.objects.count() == 1

"""What stands at the foot of a list covers nothing that is to be tapped, on any screen.

Rules: WCAG 2.2 AA through axe-core; 2.5.8 target size, 2.4.11 focus not obscured.
"""

from datetime import date

import pytest
from playwright.sync_api import Page

from lifecycle.models import Task
from tests.browser.conftest import Clock
from tests.browser.gardener import Gardener
from tests.browser.test_frost_afternoon import sign_in
from tests.browser.test_pages import faults
from tests.browser.test_sunday_evening import Evening, evening
from tests.factories import PlaceFactory, a_plant, a_task

__all__ = ["evening"]

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

NARROW, WIDE = (320, 640), (1280, 720)
STUCK = """() => [...document.querySelectorAll('main *')]
  .filter(each => ['sticky', 'fixed'].includes(getComputedStyle(each).position))
  .map(each => each.outerHTML.slice(0, 90))"""
PLANTS = 15


def test_long_lists_end_in_buttons_that_cover_nothing(
    evening: Evening, live_server, clock: Clock, phone: Page
) -> None:
    base = f"/g/{evening.garden.slug}"
    bed = PlaceFactory(site=evening.garden.sites.get(), name="Long bed", position=99)
    for number in range(PLANTS):
        plant = a_plant(evening.coordinator, bed, name=f"Rocoto {number + 1}", now=clock.now)
        days = {"earliest": 17, "best": 20, "latest": 21}
        a_task(plant, "winter_check", **{name: date(2026, 10, day) for name, day in days.items()})
    assert Task.objects.filter(kind="winter_check").count() == PLANTS
    ada = Gardener(phone, live_server.url)
    sign_in(ada, "ada")
    ada.go(f"{base}/week")
    ada.press("Propose fair shares")
    found = {}
    for width, height in (NARROW, WIDE):
        phone.set_viewport_size({"width": width, "height": height})
        for path in ("week?proposed=1#work", f"tasks?kind=winter_check&place={bed.pk}&whose=1"):
            # From elsewhere, as the place on the page would be kept.
            ada.go("/")
            ada.go(f"{base}/{path}")
            wrong = [f"sticks: {html}" for html in phone.evaluate(STUCK)]
            # The bar of the site at the foot of a phone may stand anywhere over a list.
            for part in range(4 if width == WIDE[0] else 0):
                phone.evaluate(f"scrollTo(0, {part} * document.body.scrollHeight / 4)")
                wrong += faults(phone)
            if wrong:
                found[f"{path} at {width}"] = wrong
    assert found == {}

"""Every page in a real Chromium: axe, reflow, target sizes, and one request a page.

Rules: WCAG 2.2 AA through axe-core; 1.4.10 reflow at 320 px; 2.5.8 target size.
"""

from importlib.resources import files

import pytest
from django.utils import timezone

from lifecycle.demo.loading import load
from lifecycle.demo.scenario import PASSWORD
from lifecycle.models import Entry, FrostNight, Message, Place, Plant, SeedLot, Site, Sowing, Task
from tests.browser.community_pages import community_addresses

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

AXE = files("axe_playwright_python").joinpath("axe.min.js").read_text("utf-8")
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
# The strict content policy keeps injected scripts out, so axe is evaluated by the browser.
RUN_AXE = f"async () => (await axe.run({{runOnly: {TAGS}}})).violations"
SMALL_TARGETS = """() => [...document.querySelectorAll('a, button, select, input')]
  .filter(e => e.offsetParent && e.type !== 'hidden')
  .filter(e => !e.closest('p, li > span, dd, .hidden, label, summary'))
  .map(e => [e.outerHTML.slice(0, 90), e.getBoundingClientRect()])
  .filter(([, box]) => box.width > 1 && (box.height < 24 || box.width < 24))
  .map(([html]) => html)"""


@pytest.fixture
def demo(live_server):
    """Return a live site with the invented federation on it."""
    load(now=timezone.now())
    return live_server


def addresses(role: str) -> dict[str, str]:
    """Return one address of every page, by name."""
    base = "/g/tallow-brook-garden"
    site = Site.objects.filter(garden__slug="tallow-brook-garden").order_by("pk").first()
    mine = {"garden_id": site.garden_id}
    plant = Plant.objects.filter(**mine, phase="resting").order_by("pk").first()
    pair = Plant.objects.filter(**mine, count=2).exclude(phase="ended").order_by("pk").first()
    ended = Plant.objects.filter(**mine, phase="ended").order_by("pk").first()
    sowing = Sowing.objects.filter(**mine, phase="seedling").order_by("pk").first()
    bed = Place.objects.filter(site=site, name="Cool store").get()
    tasks = Task.objects.filter(**mine, state="open")
    kitchen = Place.objects.filter(site=site, kind="bed", wire=True).first()
    lot, doubted = (
        SeedLot.objects.filter(**mine).first(),
        Plant.objects.filter(**mine, in_doubt=True).first(),
    )
    planned = tasks.filter(plant=plant).first()
    pages = {
        "Bed in the open": f"{base}/beds/{kitchen.pk}",
        "Why": f"{base}/plants/{plant.code}/why/{planned.kind}/{planned.growing_year}/"
        f"{planned.number}",
        "Planting out": f"{base}/sites/{site.pk}/planting-out",
        "Rehearsal": f"{base}/sites/{site.pk}/rehearsal",
        "Settings of a site": f"{base}/sites/{site.pk}/settings",
        "Weather events": f"{base}/sites/{site.pk}/events",
        "Seeds": f"{base}/seeds",
        "Varieties": f"{base}/varieties",
        "Variety": f"{base}/varieties/{plant.variety_id}",
        "Identity": f"{base}/plants/{doubted.code}/identity",
        "Sources": f"{base}/sources",
        "Sources, summer": f"{base}/sources/summer",
        "Sources, books": f"{base}/sources/books",
        "Sources, a crop": f"{base}/sources/crop-annuum",
        "Symptoms": f"{base}/symptoms?plant={plant.code}",
        "Symptom": f"{base}/symptoms/mosaic?plant={plant.code}",
        "Today": f"{base}/",
        "Beds": f"{base}/beds",
        "Bed": f"{base}/beds/{bed.pk}",
        "Plants": f"{base}/plants",
        "Plants, none found": f"{base}/plants?q=zzzz",
        "Plant": f"{base}/plants/{plant.code}",
        "Plant, a pair": f"{base}/plants/{pair.code}",
        "Plant, ended": f"{base}/plants/{ended.code}",
        "Sowing": f"{base}/sowings/{sowing.code}",
        "Entry": f"{base}/entries/{Entry.objects.filter(plant=plant).last().pk}",
        "Tasks": f"{base}/tasks",
        "Inbox": f"{base}/inbox",
        "Site climate": f"{base}/sites/{site.pk}/climate",
        "Frost": f"{base}/frost",
        "Covers": f"{base}/sites/{site.pk}/covers",
        **{
            f"Frost night, {night.state}": f"{base}/frost/{night.site_id}/{night.night}"
            for night in FrostNight.objects.filter(**mine)
        },
        "More": f"{base}/more",
        "My settings": "/settings",
        "My gardens": "/",
        **community_addresses(base, role, site),
    }
    if role == "committee":
        return pages
    return (
        pages
        | {
            "Bed, several": f"{base}/beds/{bed.pk}?several=1",
            "Log, water": f"{base}/plants/{plant.code}/log/watered",
            "Log, check": f"{base}/plants/{plant.code}/log/winter_check",
            "Log, other": f"{base}/plants/{plant.code}/log",
            "Move": f"{base}/plants/{plant.code}/move",
            "Split": f"{base}/plants/{pair.code}/split",
            "Cuttings": f"{base}/plants/{plant.code}/cuttings",
            "Seed": f"{base}/plants/{plant.code}/seed",
            "Hand over": f"{base}/plants/{plant.code}/hand-over",
            "Pot up": f"{base}/sowings/{sowing.code}/pot-up",
            "Sow": f"{base}/sow",
            "Add a plant": f"{base}/plants/add",
            "Feed a plant": f"{base}/plants/{plant.code}/feed",
            "Feed a bed": f"{base}/beds/{kitchen.pk}/feed",
            "Dose of a bed": f"{base}/beds/{kitchen.pk}/feed?material=blood_meal&use=bed"
            "&area_m2=4&litres=1",
            "Day reading": f"{base}/sites/{site.pk}/reading",
            "Add a lot": f"{base}/seeds/add",
            "Test a lot": f"{base}/seeds/{lot.pk}/test",
            "Doubt": f"{base}/plants/{plant.code}/identity/doubt",
            "Settle": f"{base}/plants/{doubted.code}/identity/settle",
            **{f"Task, {task.kind}": f"{base}/tasks/{task.pk}" for task in one_of_each(tasks)},
        }
        | (
            {
                "Add a place": f"{base}/places/add",
                "Add a site": f"{base}/sites/add",
                "Earlier years of a bed": f"{base}/beds/{kitchen.pk}/years",
                "Ground of a bed": f"{base}/beds/{kitchen.pk}/ground",
                "Add a variety": f"{base}/varieties/add",
                "Coordinate": f"{base}/coordinate",
            }
            if role == "coordinator"
            else {}
        )
    )


def one_of_each(tasks) -> list[Task]:
    """Return one task of each kind."""
    return list({task.kind: task for task in tasks.order_by("-pk")}.values())


def sign_in(page, address: str, role: str) -> None:
    """Sign in as one of the invented people."""
    page.goto(f"{address}/sign-in")
    page.get_by_label("E-mail address", exact=True).fill(f"{role}@demo.example")
    page.get_by_label("Password", exact=True).fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_load_state()


def faults(page) -> list[str]:
    """Return what is wrong with the page that is open."""
    found = []
    if page.evaluate("document.documentElement.scrollWidth > window.innerWidth"):
        found.append("scrolls sideways")
    found += [f"small target {html}" for html in page.evaluate(SMALL_TARGETS)]
    page.evaluate(AXE)
    for fault in page.evaluate(RUN_AXE):
        where = "; ".join(node["html"][:120] for node in fault["nodes"][:3])
        found.append(f"{fault['id']}: {where}")
    return found


@pytest.mark.parametrize("role", ["coordinator", "member", "committee"])
def test_every_page_of_a_garden(demo, phone, role):
    sign_in(phone, demo.url, role)
    found = {}
    for width in (320, 1280):
        # As tall as any page: the bar at the foot of a phone must not count as an obstacle.
        phone.set_viewport_size({"width": width, "height": 9000})
        for name, path in addresses(role).items():
            answer = phone.goto(f"{demo.url}{path}")
            assert answer.status == 200, (name, path, answer.status)
            wrong = faults(phone)
            if wrong:
                found[f"{name} at {width}"] = wrong
    assert found == {}


def test_messages_errors_and_pages_before_signing_in(demo, phone):
    found = {}

    def look(name: str) -> None:
        wrong = faults(phone)
        if wrong:
            found[name] = wrong

    phone.goto(f"{demo.url}/sign-in")
    look("Sign in")
    phone.get_by_label("Password", exact=True).fill("wrong")
    phone.get_by_role("button", name="Sign in").click()
    phone.wait_for_load_state()
    assert phone.title().startswith("Error: ")
    look("Sign in, refused")
    sign_in(phone, demo.url, "coordinator")
    phone.goto(f"{demo.url}/g/no-such-garden/")
    assert "404" not in phone.title()
    look("Not found")
    phone.goto(f"{demo.url}/g/tallow-brook-garden/sow")
    phone.get_by_role("button", name="Save the sowing").click()
    phone.wait_for_load_state()
    assert phone.title().startswith("Error: ")
    look("Sow, refused")
    message = Message.objects.filter(channel="inbox").order_by("pk").first()
    message.person = message.person.__class__.objects.get(email="coordinator@demo.example")
    Message.objects.filter(pk=message.pk).update(
        person=message.person, state="sent", sent_at=timezone.now(), subject="s", body="b"
    )
    phone.goto(f"{demo.url}/g/{message.garden.slug}/inbox/{message.pk}")
    look("Message")
    assert found == {}


def test_a_page_needs_one_request_and_no_script(demo, phone):
    sign_in(phone, demo.url, "member")
    asked = []
    phone.on("request", lambda request: asked.append(request.url))
    plant = Plant.objects.filter(garden__slug="tallow-brook-garden").order_by("pk").first()
    answer = phone.goto(f"{demo.url}/g/tallow-brook-garden/plants/{plant.code}")
    assert len(answer.body()) <= 60 * 1024
    assert [url for url in asked if not url.endswith("favicon.svg")] == [answer.url]
    assert phone.locator("script").count() == 0


def test_the_first_run_page(live_server, phone):
    phone.goto(f"{live_server.url}/")
    assert phone.locator("h1").inner_text() == "Found the garden"
    assert faults(phone) == []

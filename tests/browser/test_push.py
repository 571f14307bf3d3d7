"""A push message in a real Chromium: allowed by a press, sent, opened, shown.

The browser's own push service cannot be reached here, so its answer to ``subscribe`` is put
in; the worker, the permission and the notification are Chromium's own.
"""

import json
import re

import pytest
from playwright.sync_api import CDPSession, Page

from lifecycle.models import PushSubscription
from lifecycle.records.messages.calendar import new_address
from lifecycle.reminders.messages import push
from tests.browser.test_pages import faults
from tests.factories import NOON, PASSWORD, MembershipFactory
from tests.reminders.push_service import Browser, a_push, push_service

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

# What a push service would give to this browser.
GIVES = """([endpoint, p256dh, auth]) => {
  let given = null;
  PushManager.prototype.getSubscription = async () => given;
  PushManager.prototype.subscribe = async (options) => {
    const applicationServerKey = options.applicationServerKey.buffer;
    window.asked = options.userVisibleOnly;
    return (given = {
      endpoint, options: {applicationServerKey},
      toJSON: () => ({endpoint, keys: {p256dh, auth}}),
    });
  };
}"""
SHOWN = """async () => (await (await navigator.serviceWorker.ready).getNotifications())
  .map(({title, body, tag, data}) => ({title, body, tag, data}))"""


@pytest.fixture
def member(db):
    """A member who can sign in."""
    return MembershipFactory(person__email="member@garden.example", garden__name="Northfield")


def sign_in(page: Page, address: str) -> None:
    page.goto(f"{address}/sign-in")
    page.get_by_label("E-mail address", exact=True).fill("member@garden.example")
    page.get_by_label("Password", exact=True).fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_load_state()


def worker_of(page: Page) -> tuple[CDPSession, str]:
    """Return a session and the number of the worker's registration."""
    session = page.context.new_cdp_session(page)
    found: list[str] = []
    session.on(
        "ServiceWorker.workerRegistrationUpdated",
        lambda event: found.extend(row["registrationId"] for row in event["registrations"]),
    )
    session.send("ServiceWorker.enable")
    page.wait_for_function("async () => !!(await navigator.serviceWorker.ready).active")
    while not found:
        page.wait_for_timeout(20)
    return session, found[0]


def test_from_the_press_to_the_notification(live_server, phone, member, settings):
    settings.PUSH_PRIVATE_ENDPOINTS = True
    browser = Browser()
    phone.context.grant_permissions(["notifications"], origin=live_server.url)
    sign_in(phone, live_server.url)
    with push_service() as service:
        phone.goto(f"{live_server.url}/settings/push")
        assert faults(phone) == []
        # Nothing is registered or asked before the press.
        assert (
            phone.evaluate("async () => (await navigator.serviceWorker.getRegistrations()).length")
            == 0
        )
        phone.evaluate(GIVES, [f"{service.url}/201/a", browser.p256dh, browser.auth])
        phone.get_by_label("What you call this device", exact=True).fill("My telephone")
        phone.get_by_role("button", name="Allow messages on this device").click()
        phone.wait_for_url("**/settings#push")
        kept = PushSubscription.objects.get()
        assert (kept.person, kept.device) == (member.person, "My telephone")

        message = a_push(member)
        push.send(message, "Cover beds 1 to 4 by 17:30: −2 °C.", f"{live_server.url}/settings")
        [(_, _, body)] = service.got
    session, registration = worker_of(phone)
    text = browser.opened(body).decode()
    deliver = {"origin": live_server.url, "registrationId": registration, "data": text}
    for _ in range(2):  # a repeat takes the place of the first
        session.send("ServiceWorker.deliverPushMessage", deliver)
    phone.wait_for_function(f"async () => (await ({SHOWN})()).length > 0")
    assert phone.evaluate(SHOWN) == [
        {
            "title": "Northfield",
            "body": "Cover beds 1 to 4 by 17:30: −2 °C.",
            "tag": push.topic_of(message),
            "data": f"{live_server.url}/settings",
        }
    ]
    session.send(
        "ServiceWorker.deliverPushMessage", {**deliver, "data": json.dumps({"title": "Bare"})}
    )
    phone.wait_for_function(f"async () => (await ({SHOWN})()).length === 2")


def test_a_browser_that_may_not_says_so(live_server, phone, member):
    sign_in(phone, live_server.url)
    phone.goto(f"{live_server.url}/settings/push")
    phone.evaluate("Notification.requestPermission = async () => 'denied'")
    phone.get_by_role("button", name="Allow messages on this device").click()
    state = phone.locator("#push-state")
    state.filter(has_text="does not allow it").wait_for()
    assert not PushSubscription.objects.exists()


def test_a_device_that_is_kept_is_not_asked_again(live_server, phone, member):
    Browser().allow(member, "https://push.example/a")
    sign_in(phone, live_server.url)
    phone.goto(f"{live_server.url}/settings/push")
    phone.evaluate(
        """async () => {
          const worker = await navigator.serviceWorker.register('/push-worker.js');
          await navigator.serviceWorker.ready;
        }"""
    )
    key = push.public_key()
    phone.context.add_init_script(
        f"""PushManager.prototype.getSubscription = async () => ({{
          endpoint: 'https://push.example/a',
          options: {{applicationServerKey: Uint8Array.from(
            atob('{key}='.replace(/-/g, '+').replace(/_/g, '/')), (c) => c.charCodeAt(0)).buffer}},
        }});"""
    )
    phone.reload()
    phone.locator("#push-state").filter(has_text="This device shows your messages.").wait_for()
    assert phone.locator("#push").is_hidden()


CLICK = """(async ([url, open]) => {{
  const heard = {{}}, did = [];
  const self = {{
    location: {{origin: "https://garden.example"}},
    addEventListener: (name, answer) => (heard[name] = answer),
    clients: {{
      matchAll: async () => open.map((url) => ({{url, focus: () => did.push(`focus ${{url}}`)}})),
      openWindow: (url) => did.push(`open ${{url}}`),
    }},
  }};
  {worker}
  let done;
  heard.notificationclick({{
    notification: {{data: url, close: () => did.push("close")}},
    waitUntil: (work) => (done = work),
  }});
  await done;
  return did;
}})"""


@pytest.mark.parametrize(
    ("url", "open_pages", "did"),
    [
        ("https://garden.example/a", [], "open https://garden.example/a"),
        ("/a", ["https://garden.example/b"], "open https://garden.example/a"),
        ("/a", ["https://garden.example/a"], "focus https://garden.example/a"),
        ("https://elsewhere.example/a", [], "open https://garden.example"),
    ],
)
def test_pressing_a_notification_opens_its_page(phone, client, url, open_pages, did):
    worker = client.get("/push-worker.js").content.decode()
    assert phone.evaluate(CLICK.format(worker=worker), [url, open_pages]) == ["close", did]


def test_my_settings_with_a_calendar_and_a_device(live_server, phone, member):
    new_address(member.person, now=NOON)
    Browser().allow(member, "https://push.example/a", "My telephone")
    sign_in(phone, live_server.url)
    for width in (320, 1280):
        phone.set_viewport_size({"width": width, "height": 9000})
        phone.goto(f"{live_server.url}/settings")
        assert faults(phone) == []
    assert phone.get_by_label("Your calendar address").input_value().endswith(".ics")
    phone.get_by_role("button", name=re.compile("Stop on this device.*My telephone")).click()
    phone.wait_for_url("**/settings#push")
    assert not PushSubscription.objects.exists()


def test_without_a_script_the_page_says_so(live_server, chromium, member):
    context = chromium.new_context(java_script_enabled=False)
    page = context.new_page()
    sign_in(page, live_server.url)
    page.goto(f"{live_server.url}/settings/push")
    assert "This needs a script" in page.locator("main").inner_text()
    assert page.locator("#push").is_hidden()
    context.close()

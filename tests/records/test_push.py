"""Which browsers are kept for messages, and whose they are."""

import pytest
from cryptography.hazmat.primitives.asymmetric import ec

from lifecycle.models import PushSubscription
from lifecycle.records.messages.push import (
    MOST_DEVICES,
    check_endpoint,
    forget,
    subscribe,
    unsubscribe,
    worked,
)
from lifecycle.records.refusal import Refused
from tests.conftest import World
from tests.factories import NOON
from tests.reminders.push_service import Browser, b64

pytestmark = pytest.mark.django_db
HERE = "https://push.example/send/abc"


def test_a_browser_is_kept_once_and_for_who_allowed_it_last(world: World) -> None:
    browser = Browser()
    kept = browser.allow(world.owner, HERE, "the owner's telephone")
    worked(kept, now=NOON)
    again = browser.allow(world.member, HERE, "shared\x00 tablet \n")
    assert (again.pk, again.person, again.device) == (
        kept.pk,
        world.member.person,
        "shared tablet",
    )
    again.refresh_from_db()
    assert again.worked_at is None
    assert PushSubscription.objects.count() == 1


def test_only_the_owner_of_a_subscription_stops_it(world: World) -> None:
    kept = Browser().allow(world.member, HERE)
    unsubscribe(world.owner.person, kept.pk)
    assert PushSubscription.objects.exists()
    unsubscribe(world.member.person, kept.pk)
    unsubscribe(world.member.person, kept.pk)
    assert not PushSubscription.objects.exists()


def test_what_a_service_no_longer_knows_is_forgotten(world: World) -> None:
    kept, other = (Browser().allow(world.member, f"{HERE}{n}") for n in range(2))
    forget(kept)
    assert list(PushSubscription.objects.all()) == [other]


def test_ten_devices_and_no_more(world: World) -> None:
    browser = Browser()
    for n in range(MOST_DEVICES):
        browser.allow(world.member, f"{HERE}{n}")
    with pytest.raises(Refused, match="on 10 devices already"):
        browser.allow(world.member, f"{HERE}more")
    # One of the ten may renew itself, and others have devices of their own.
    browser.allow(world.member, f"{HERE}0")
    browser.allow(world.owner, f"{HERE}more")


@pytest.mark.parametrize(
    "endpoint",
    [
        "",
        "push.example/abc",
        "http://push.example/abc",
        "ftp://push.example/abc",
        "file:///etc/passwd",
        "https:///abc",
        "https://push.example:8443/abc",
        "https://push.example:99999/abc",
        "https://push.example:x/abc",
        "https://name@push.example/abc",
        "https://localhost/abc",
        "https://intranet/abc",
        "https://127.0.0.1/abc",
        "https://93.184.216.34/abc",
        "https://[2606:2800:220:1::1]/abc",
        "https://[::1]/abc",
        "https://[::ffff:10.0.0.1]/abc",
        "https://169.254.169.254/latest",
        "https://2130706433/abc",
        "https://0x7f.1/abc",
        "https://[fe80::1",
        "https://push.example/a b",
        "https://push.example/a\nb",
        "https://push.exämple/abc",
        "https://push.example/" + "a" * 600,
    ],
)
def test_what_is_no_push_address_is_refused(world: World, endpoint: str) -> None:
    with pytest.raises(Refused, match="no usable address"):
        Browser().allow(world.member, endpoint)
    assert not PushSubscription.objects.exists()


@pytest.mark.parametrize("endpoint", [HERE, "https://push.example:443/abc"])
def test_what_is_a_push_address_is_taken(endpoint: str) -> None:
    assert check_endpoint(endpoint).scheme == "https"


# The same in every test process.
ANY = Browser(ec.derive_private_key(7, ec.SECP256R1()))
OFF_THE_CURVE = b64(b"\x04" + bytes(64))


@pytest.mark.parametrize(
    ("p256dh", "auth"),
    [
        ("", ANY.auth),
        (ANY.p256dh[:-2], ANY.auth),
        (OFF_THE_CURVE, ANY.auth),
        ("*" * 87, ANY.auth),
        ("ä", ANY.auth),
        (ANY.p256dh, ""),
        (ANY.p256dh, b64(b"fifteen octets.")),
        (ANY.p256dh, "a+b/" * 6),
    ],
)
def test_keys_no_browser_gives_are_refused(world: World, p256dh: str, auth: str) -> None:
    with pytest.raises(Refused, match="no usable address"):
        subscribe(world.member.person, endpoint=HERE, p256dh=p256dh, auth=auth, device="", now=NOON)

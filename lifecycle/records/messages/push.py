"""Browsers that a person allowed to show messages."""

import base64
import binascii
import re
from datetime import datetime
from urllib.parse import SplitResult, urlsplit

from cryptography.hazmat.primitives.asymmetric.ec import SECP256R1, EllipticCurvePublicKey
from django.conf import settings
from django.db import transaction

from lifecycle.models import Person, PushSubscription
from lifecycle.records.refusal import Refused

MOST_DEVICES = 10
ENDPOINT_LENGTH = 600
DEVICE_LENGTH = 80
POINT_BYTES, AUTH_BYTES = 65, 16
"""Of an uncompressed point of P-256 and of the authentication secret (RFC 8291, 2)."""

_LABEL = "[a-z0-9](?:[a-z0-9-]{0,61}[a-z0-9])?"
_NAME = re.compile(rf"(?=.{{1,253}}$)(?:{_LABEL}\.)+[a-z][a-z0-9-]{{0,61}}[a-z0-9]")
"""A host's name with a dot, its last part no number; punycode that decodes is looked at later."""

_UNREADABLE = "This browser gave no usable address for messages. Load the page and try again."


def subscribe(
    person: Person, *, endpoint: str, p256dh: str, auth: str, device: str, now: datetime
) -> PushSubscription:
    """Keep the browser at ``endpoint`` as one that shows the person's messages.

    A browser shows one person's messages: who allows it last has it. Raises Refused for an
    address or keys that no push service gives, and for more than MOST_DEVICES.
    """
    check_endpoint(endpoint)
    _check_keys(p256dh, auth)
    name = "".join(mark for mark in device if mark.isprintable()).strip()[:DEVICE_LENGTH]
    with transaction.atomic():
        # One form at a time, so that two cannot both be the last allowed.
        list(Person.objects.select_for_update(no_key=True).filter(pk=person.pk))
        others = PushSubscription.objects.filter(person=person).exclude(endpoint=endpoint)
        if others.count() >= MOST_DEVICES:
            raise Refused(
                f"You get messages on {MOST_DEVICES} devices already. Stop one of them first."
            )
        kept, _ = PushSubscription.objects.update_or_create(
            endpoint=endpoint,
            defaults={
                "person": person,
                "p256dh": p256dh,
                "auth": auth,
                "device": name,
                "made_at": now,
                "worked_at": None,
            },
        )
    return kept


def unsubscribe(person: Person, pk: int) -> None:
    """Stop messages on one of the person's devices; one that is not there is stopped already."""
    PushSubscription.objects.filter(person=person, pk=pk).delete()


def forget(subscription: PushSubscription) -> None:
    """Remove a subscription that its push service no longer knows."""
    PushSubscription.objects.filter(pk=subscription.pk).delete()


def worked(subscription: PushSubscription, *, now: datetime) -> None:
    """Note that the push service took a message for this browser."""
    PushSubscription.objects.filter(pk=subscription.pk).update(worked_at=now)


def check_endpoint(endpoint: str) -> SplitResult:
    """Return the parts of a push address. Raises Refused unless it may be a push service's.

    The browser sends it, so it could name anything: only https at its own port, at a name with
    a dot and without a sign-in. Where the name leads is checked when a message goes out.
    """
    try:
        parts = urlsplit(endpoint)
        host, port = parts.hostname or "", parts.port
    except ValueError:
        raise Refused(_UNREADABLE) from None
    plain = endpoint.isascii() and endpoint.isprintable() and " " not in endpoint
    if not plain or len(endpoint) > ENDPOINT_LENGTH or not host or "@" in parts.netloc:
        raise Refused(_UNREADABLE)
    if settings.PUSH_PRIVATE_ENDPOINTS:
        return parts
    if parts.scheme != "https" or port not in (None, 443) or not _NAME.fullmatch(host):
        raise Refused(_UNREADABLE)
    return parts


def _check_keys(p256dh: str, auth: str) -> None:
    point, secret = _decoded(p256dh), _decoded(auth)
    if len(point) != POINT_BYTES or len(secret) != AUTH_BYTES:
        raise Refused(_UNREADABLE)
    try:
        EllipticCurvePublicKey.from_encoded_point(SECP256R1(), point)
    except ValueError:
        raise Refused(_UNREADABLE) from None


def _decoded(text: str) -> bytes:
    try:
        return base64.b64decode(text + "=" * (-len(text) % 4), altchars=b"-_", validate=True)
    except (binascii.Error, ValueError):
        raise Refused(_UNREADABLE) from None

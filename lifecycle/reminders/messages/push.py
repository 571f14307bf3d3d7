"""Push messages to a person's browsers (RFC 8030), encrypted (RFC 8291), signed (RFC 8292)."""

import asyncio
import base64
import functools
import hashlib
import ipaddress
import json
import os
import socket
import ssl
import time
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from email.utils import parseaddr

import http_ece
import httpx
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat
from django.conf import settings
from django.utils import timezone
from py_vapid import Vapid02

from lifecycle.models import Message, PushSubscription
from lifecycle.records.messages.push import check_endpoint, forget, worked
from lifecycle.records.refusal import Refused
from lifecycle.reminders.messages import transports

TIMEOUT = httpx.Timeout(10, connect=5)
WHOLE_SECONDS = 20.0
"""All devices of one message together: a service that answers byte by byte holds up nobody else."""

SIGNED_FOR = timedelta(hours=12)
"""At most 24 hours (RFC 8292, 2)."""

SHORTEST, LONGEST = timedelta(minutes=1), timedelta(days=28)
URGENCY = {
    Message.Level.NOTE: "very-low",
    Message.Level.DUE: "low",
    Message.Level.ACT_TODAY: "normal",
    Message.Level.ACT_NOW: "high",
}
"""When a push service may wake the device (RFC 8030, 5.3)."""

_TRANSLATED = tuple(
    ipaddress.ip_network(network)
    for network in ("64:ff9b::/96", "64:ff9b:1::/48", "2002::/16", "::/96", "fec0::/10")
)
"""Networks in which an IPv6 address stands for another one, perhaps a private one."""

GONE = frozenset({404, 410})
AGAIN = frozenset({408, 429})


def send(message: Message, short: str, url: str) -> None:
    """Send ``short`` to every browser of the message's person; ``url`` is where it leads.

    One browser that took it is enough. A browser whose service no longer knows it is removed.
    Raises TransportError when none took it: permanent unless trying again may help.
    """
    devices = list(PushSubscription.objects.filter(person=message.person_id).order_by("pk"))
    if not devices:
        raise transports.TransportError("No device takes push messages any more.", permanent=True)
    topic = topic_of(message)
    text = {"title": message.garden.name, "body": short, "url": url, "tag": topic}
    plain = json.dumps(text, ensure_ascii=False).encode()
    headers = {
        "TTL": str(_seconds_left(message)),
        "Urgency": URGENCY[Message.Level(message.level)],
        "Topic": topic,
        "Content-Type": "application/octet-stream",
        "Content-Encoding": "aes128gcm",
    }
    failed: list[transports.TransportError] = []
    until = time.monotonic() + WHOLE_SECONDS
    for device in devices:
        try:
            _post(device, plain, headers, until)
        except transports.TransportError as problem:
            failed.append(problem)
    if len(failed) == len(devices):
        first = next((problem for problem in failed if not problem.permanent), failed[0])
        raise first


def topic_of(message: Message) -> str:
    """Return the same 32 characters for the same message, so that a repeat replaces it.

    A topic is at most 32 characters of base64url (RFC 8030, 5.4).
    """
    return base64.urlsafe_b64encode(hashlib.sha256(message.key.encode()).digest()[:24]).decode()


def public_key() -> str:
    """Return the site's public key for browsers, in base64url (RFC 8292, 3.2)."""
    point = _signer().public_key.public_bytes(Encoding.X962, PublicFormat.UncompressedPoint)
    return base64.urlsafe_b64encode(point).decode().rstrip("=")


def is_public(address: str) -> bool:
    """Return whether a numeric address lies in the public network."""
    found = ipaddress.ip_address(address.partition("%")[0])
    mapped = found.ipv4_mapped if isinstance(found, ipaddress.IPv6Address) else None
    found = mapped or found
    if any(found in network for network in _TRANSLATED if network.version == found.version):
        return False
    return found.is_global and not found.is_multicast


def sealed(device: PushSubscription, plain: bytes) -> bytes:
    """Return ``plain`` so that only this browser can read it, by a key and a salt of its own.

    RFC 8291, 3.1, in the coding aes128gcm of RFC 8188.
    """
    made: bytes = http_ece.encrypt(
        plain,
        salt=os.urandom(16),
        private_key=ec.generate_private_key(ec.SECP256R1()),
        dh=_decoded(device.p256dh),
        auth_secret=_decoded(device.auth),
        version="aes128gcm",
    )
    return made


def _post(device: PushSubscription, plain: bytes, headers: dict[str, str], until: float) -> None:
    origin = _checked_origin(device.endpoint)
    told = {**headers, **_signed_for(origin), "Accept-Encoding": "identity"}
    try:
        # A thread of its own: the caller's may already run a loop.
        with ThreadPoolExecutor(1) as pool:
            talk = _status_of(device.endpoint, sealed(device, plain), told, until)
            status = pool.submit(asyncio.run, talk).result()
    except (httpx.HTTPError, TimeoutError) as problem:
        raise transports.TransportError(
            f"The push service at {origin} did not answer: {type(problem).__name__}",
            permanent=False,
        ) from problem
    except (httpx.InvalidURL, UnicodeError) as problem:
        raise transports.TransportError(
            f"{origin} is not the address of a push service.", permanent=True
        ) from problem
    if httpx.codes.is_success(status):
        worked(device, now=timezone.now())
        return
    if status in GONE:
        forget(device)
        raise transports.TransportError(
            f"The push service at {origin} no longer knows this browser.", permanent=True
        )
    again = status in AGAIN or httpx.codes.is_server_error(status)
    raise transports.TransportError(
        f"The push service at {origin} answered {status}.", permanent=not again
    )


async def _status_of(endpoint: str, content: bytes, headers: dict[str, str], until: float) -> int:
    """Post, and return the status; whatever follows the headers is not read."""
    async with (
        asyncio.timeout(max(until - time.monotonic(), 0.0)),
        httpx.AsyncClient(timeout=TIMEOUT, verify=_trusted()) as client,
        client.stream("POST", endpoint, content=content, headers=headers) as answer,
    ):
        return answer.status_code


def _checked_origin(endpoint: str) -> str:
    """Return the origin of a push address that leads out into the public network.

    A name may have been pointed elsewhere since it was kept. A switch between this look and
    the connection gains nothing: the other end must still show a certificate for the name.
    """
    try:
        parts = check_endpoint(endpoint)
    except Refused as problem:
        raise transports.TransportError(
            "The address of this browser is not that of a push service.", permanent=True
        ) from problem
    origin = f"{parts.scheme}://{parts.netloc}"
    if settings.PUSH_PRIVATE_ENDPOINTS:
        return origin
    try:
        found = socket.getaddrinfo(parts.hostname, parts.port or 443, type=socket.SOCK_STREAM)
    except OSError as problem:
        raise transports.TransportError(f"{origin} was not found.", permanent=False) from problem
    except UnicodeError as problem:
        raise transports.TransportError(f"{origin} is no name.", permanent=True) from problem
    if not all(is_public(str(address[0])) for *_, address in found):
        raise transports.TransportError(f"{origin} leads into a private network.", permanent=True)
    return origin


def _signed_for(origin: str) -> dict[str, str]:
    until = timezone.now() + SIGNED_FOR
    claims = {"aud": origin, "exp": int(until.timestamp()), "sub": _contact()}
    signed: dict[str, str] = _signer().sign(claims)
    return signed


def _contact() -> str:
    return f"mailto:{parseaddr(settings.DEFAULT_FROM_EMAIL)[1]}"


def _signer() -> Vapid02:
    signer = Vapid02.from_raw(settings.VAPID_PRIVATE_KEY.encode())
    # A mail host's name without a dot is as good.
    signer.conf = {"no-strict": True}
    return signer


@functools.cache
def _trusted() -> ssl.SSLContext:
    return httpx.create_ssl_context()


def _seconds_left(message: Message) -> int:
    left = message.expires_at - timezone.now()
    return int(min(max(left, SHORTEST), LONGEST).total_seconds())


def _decoded(text: str) -> bytes:
    return base64.urlsafe_b64decode(text + "=" * (-len(text) % 4))

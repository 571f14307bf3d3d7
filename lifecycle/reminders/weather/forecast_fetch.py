"""Ask forecast services by HTTP: once an address, with limits on everything, kept until it expires.

Addresses are made from settings and a site's coordinates, never from what somebody typed, and a
service that sends us on to another host is not followed.
"""

import gzip
import ssl
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cache
from typing import TypeVar
from urllib.parse import urljoin, urlsplit

import httpx
from django.conf import settings

from lifecycle.agronomy.forecast_answer import LARGEST
from lifecycle.models import FetchedForecast
from lifecycle.reminders.weather.forecast_headers import Lives, etag_of, life_of, pause_of

TIMEOUT = httpx.Timeout(15, connect=5)
LONGEST_S = 30.0
"""Seconds for one whole answer, however slowly it trickles in."""

MOST_REDIRECTS = 2
LONGEST_ADDRESS = 300
FORGOTTEN_AFTER = timedelta(days=30)
AS_FORECAST = Lives(timedelta(minutes=10), timedelta(hours=2))
AS_PLACE = Lives(timedelta(days=7), timedelta(days=7))

Read = TypeVar("Read")


class NoForecast(Exception):
    """Why a service gave no forecast, in one sentence.

    ``pause`` is how long the service wants to be left alone; ``whole_host`` says that its other
    addresses need not be tried now.
    """

    def __init__(
        self, sentence: str, *, pause: timedelta = timedelta(0), whole_host: bool = False
    ) -> None:
        super().__init__(sentence)
        self.pause, self.whole_host = pause, whole_host


@dataclass(frozen=True, slots=True)
class Answer:
    """What an address gave, when, and until when it need not be asked again."""

    body: bytes
    fetched_at: datetime
    expires_at: datetime
    etag: str = ""


class Asker:
    """Asks services during one tick; an address is fetched at most once in it."""

    def __init__(self, now: datetime) -> None:
        self.now = now
        self._silent: dict[str, NoForecast] = {}
        self._client: httpx.Client | None = None

    def close(self) -> None:
        """Let go of the connections."""
        if self._client is not None:
            self._client.close()

    def ask(
        self, address: str, lives: Lives, read: Callable[[Answer], Read]
    ) -> tuple[Read, Answer]:
        """Return what ``read`` makes of an address's answer, and the answer.

        An answer is kept only once it was read. Raises NoForecast when the service gives none,
        and what ``read`` raises.
        """
        kept = FetchedForecast.objects.filter(address=address).first()
        if kept is not None and kept.expires_at > self.now:
            answer = _kept_answer(kept)
            return read(answer), answer
        answer = self._fetched(address, kept, lives)
        try:
            found = read(answer)
        except (NoForecast, ValueError) as problem:
            self._silent[address] = NoForecast(str(problem))
            raise
        FetchedForecast.objects.update_or_create(
            address=address,
            defaults={
                "body_gz": gzip.compress(answer.body, mtime=0),
                "fetched_at": answer.fetched_at,
                "expires_at": answer.expires_at,
                "etag": answer.etag,
            },
        )
        return found, answer

    def _fetched(self, address: str, kept: FetchedForecast | None, lives: Lives) -> Answer:
        host = origin(address)
        silent = self._silent.get(host) or self._silent.get(address)
        if silent is not None:
            raise silent
        if len(address) > LONGEST_ADDRESS:
            raise NoForecast("The forecast service gave an address that is too long to keep.")
        try:
            return self._got(address, kept, lives)
        except NoForecast as failure:
            self._silent[host if failure.whole_host else address] = failure
            raise

    def _got(self, address: str, kept: FetchedForecast | None, lives: Lives) -> Answer:
        """Ask the address, and where the same host sends us on to."""
        etag = kept.etag if kept is not None else ""
        at = address
        for _ in range(MOST_REDIRECTS + 1):
            response, body = self._request(at, etag)
            if not response.has_redirect_location:
                break
            at = at_same_host(at, response.headers["Location"])
        else:
            raise NoForecast("The forecast service sends us on and on.")
        expires_at = self.now + life_of(response.headers, lives, self.now)
        if response.status_code == httpx.codes.NOT_MODIFIED and kept is not None:
            return Answer(_unpacked(kept), self.now, expires_at, etag)
        _check_status(response, self.now)
        return Answer(body, self.now, expires_at, etag_of(response.headers))

    def _request(self, address: str, etag: str) -> tuple[httpx.Response, bytes]:
        headers = {"If-None-Match": etag} if etag else {}
        # Made when first needed: most ticks ask nobody.
        self._client = self._client or new_client()
        try:
            with self._client.stream("GET", address, headers=headers) as response:
                return response, _body(response)
        except httpx.TimeoutException:
            raise NoForecast(
                "The forecast service did not answer in time.", whole_host=True
            ) from None
        except httpx.ConnectError:
            raise NoForecast(
                "The forecast service could not be reached.", whole_host=True
            ) from None
        except (httpx.HTTPError, httpx.InvalidURL):
            raise NoForecast(
                "The forecast service broke off in the middle of its answer."
            ) from None


def new_client() -> httpx.Client:
    """Return a client with limits, which names this site and follows nobody."""
    headers = {"User-Agent": user_agent(), "Accept": "application/json"}
    return httpx.Client(timeout=TIMEOUT, follow_redirects=False, headers=headers, verify=_trust())


@cache
def _trust() -> ssl.SSLContext:
    """Return the certificates to trust; reading them takes longer than an answer."""
    return httpx.create_ssl_context()


def user_agent() -> str:
    """Return how this site names itself to a service: with an address to write to."""
    contact = settings.FORECAST_CONTACT.encode("ascii", "ignore").decode()
    return f"lifecycle-garden/1 ({' '.join(contact.split())})"


def origin(address: str) -> str:
    """Return scheme, host and port of an address."""
    parts = urlsplit(address)
    return f"{parts.scheme}://{parts.netloc}".lower()


def at_same_host(base: str, address: str) -> str:
    """Return an address that a service named, seen from ``base``; NoForecast at another host."""
    try:
        found = urljoin(base, address)
        same = origin(found) == origin(base)
    except ValueError:
        same = False
    if not same:
        raise NoForecast("The forecast service sends us on to another host, which is not followed.")
    return found


def forget(address: str) -> None:
    """Let an address be asked anew."""
    FetchedForecast.objects.filter(address=address).delete()


def prune(*, now: datetime) -> None:
    """Delete answers that expired long ago."""
    FetchedForecast.objects.filter(expires_at__lt=now - FORGOTTEN_AFTER).delete()


def _kept_answer(row: FetchedForecast) -> Answer:
    return Answer(_unpacked(row), row.fetched_at, row.expires_at, row.etag)


def _unpacked(row: FetchedForecast) -> bytes:
    return gzip.decompress(bytes(row.body_gz))


def _body(response: httpx.Response) -> bytes:
    until = time.monotonic() + LONGEST_S
    body = bytearray()
    for chunk in response.iter_bytes():
        body += chunk
        if len(body) > LARGEST:
            raise NoForecast("The answer is larger than 2 MB; a forecast is not.")
        if time.monotonic() > until:
            raise NoForecast("The forecast service did not answer in time.", whole_host=True)
    return bytes(body)


def _check_status(response: httpx.Response, now: datetime) -> None:
    status = response.status_code
    if status == httpx.codes.OK:
        return
    pause = pause_of(response.headers.get("Retry-After", ""), now)
    if status == httpx.codes.TOO_MANY_REQUESTS:
        raise NoForecast(
            "The forecast service was asked too often and wants a pause (429).",
            pause=pause,
            whole_host=True,
        )
    if status == httpx.codes.SERVICE_UNAVAILABLE:
        raise NoForecast(
            "The forecast service is not available now (503).", pause=pause, whole_host=True
        )
    if status >= 500:
        raise NoForecast(f"The forecast service has a fault of its own ({status}).")
    if status == httpx.codes.NOT_FOUND:
        raise NoForecast("The forecast service has no forecast for this place (404).")
    raise NoForecast(f"The forecast service refused to answer ({status}).")

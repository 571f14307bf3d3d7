"""A push service on this machine, and a browser that subscribed to it."""

import base64
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from datetime import timedelta
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

import http_ece
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

from lifecycle.models import Membership, Message, PushSubscription
from lifecycle.records.messages.push import subscribe
from tests.factories import NOON


def b64(data: bytes) -> str:
    """Return base64url without padding, as browsers give it."""
    return base64.urlsafe_b64encode(data).decode().rstrip("=")


@dataclass
class Browser:
    """The keys of one browser; only it can read what is sent to it."""

    key: ec.EllipticCurvePrivateKey = field(
        default_factory=lambda: ec.generate_private_key(ec.SECP256R1())
    )
    secret: bytes = b"sixteen octets.."

    @property
    def p256dh(self) -> str:
        """Its public key."""
        return b64(
            self.key.public_key().public_bytes(Encoding.X962, PublicFormat.UncompressedPoint)
        )

    @property
    def auth(self) -> str:
        """Its authentication secret."""
        return b64(self.secret)

    def opened(self, body: bytes) -> bytes:
        """Return what was sealed for this browser."""
        found: bytes = http_ece.decrypt(
            body, private_key=self.key, auth_secret=self.secret, version="aes128gcm"
        )
        return found

    def allow(self, who: Membership, endpoint: str, device: str = "") -> PushSubscription:
        """Subscribe for somebody."""
        return subscribe(
            who.person,
            endpoint=endpoint,
            p256dh=self.p256dh,
            auth=self.auth,
            device=device,
            now=NOON,
        )


@dataclass
class Service:
    """Answers by the path: /201/x with 201; /slow/x after a while. Keeps what it was sent."""

    url: str = ""
    got: list[tuple[str, dict[str, str], bytes]] = field(default_factory=list)


@contextmanager
def push_service() -> Iterator[Service]:
    """Run the service for a test."""
    service = Service()

    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            body = self.rfile.read(int(self.headers["Content-Length"]))
            service.got.append((self.path, dict(self.headers.items()), body))
            wanted = self.path.split("/")[1]
            if wanted == "slow":
                time.sleep(0.5)
            if wanted == "drip":
                self._drip()
                return
            self.send_response(int(wanted) if wanted.isdigit() else 201)
            self.send_header("Location", f"{service.url}/201/elsewhere")
            self.send_header("Content-Length", "0")
            self.end_headers()

        def _drip(self) -> None:
            """Answer with one header after the other, and never come to an end."""
            self.send_response(201)
            with suppress(OSError):
                for number in range(200):
                    self.wfile.write(f"X-{number}: drip\r\n".encode())
                    self.wfile.flush()
                    time.sleep(0.05)

        def log_message(self, *_: object) -> None:
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    service.url = f"http://127.0.0.1:{server.server_port}"
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02})
    thread.start()
    try:
        yield service
    finally:
        server.shutdown()
        thread.join()
        server.server_close()


def a_push(who: Membership, **more: object) -> Message:
    """Put a push message for somebody into the outbox."""
    given = {
        "garden": who.garden,
        "person": who.person,
        "key": "frost:7:push",
        "channel": Message.Channel.PUSH,
        "kind": Message.Kind.FROST,
        "level": Message.Level.ACT_TODAY,
        "for_day": NOON.date(),
        "not_before": NOON,
        "expires_at": NOON + timedelta(hours=6),
        "made_at": NOON,
        **more,
    }
    return Message.objects.create(**given)

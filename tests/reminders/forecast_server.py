"""A forecast service of the tests' own: a small web server here, with scripted answers."""

import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import ClassVar
from urllib.parse import urlsplit

KEPT = Path(__file__).parent / "forecasts"
POINT, GRID, OPEN = "/points/", "/gridpoints/LOT/52,80", "/v1/forecast"


class Handler(BaseHTTPRequestHandler):
    """Answers by the longest scripted path that an address begins with."""

    protocol_version = "HTTP/1.1"
    service: ClassVar["Service"]

    def do_GET(self) -> None:
        """Count the request and answer it."""
        self.service.asked.append(self.path)
        self.service.agents.append(self.headers.get("User-Agent", ""))
        found = [path for path in self.service.answers if self.path.startswith(path)]
        # A client that hung up is what some tests are about.
        with suppress(BrokenPipeError, ConnectionResetError):
            if found:
                self.service.answers[max(found, key=len)](self)
            else:
                reply(404, b"")(self)

    def log_message(self, format: str, *args: object) -> None:
        """Say nothing."""


Answering = Callable[[Handler], None]


def reply(status: int, body: bytes, **headers: str) -> Answering:
    """An answer with a status, a body and headers, whose names have _ for -."""

    def answer(handler: Handler) -> None:
        handler.send_response(status)
        for name, value in headers.items():
            handler.send_header(name.replace("_", "-"), value)
        handler.send_header("Content-Length", str(len(body)))
        handler.end_headers()
        handler.wfile.write(body)

    return answer


def kept(name: str, **headers: str) -> Answering:
    """An answer from the folder of kept ones."""
    return reply(200, (KEPT / name).read_bytes(), **headers)


def half(body: bytes) -> Answering:
    """An answer that breaks off in its middle."""

    def answer(handler: Handler) -> None:
        handler.send_response(200)
        handler.send_header("Content-Length", str(len(body)))
        handler.end_headers()
        handler.wfile.write(body[: len(body) // 2])
        handler.wfile.flush()
        handler.close_connection = True

    return answer


def silent(until: threading.Event) -> Answering:
    """No answer at all until the test is over."""

    def answer(handler: Handler) -> None:
        until.wait(5)
        handler.close_connection = True

    return answer


def trickling(until: threading.Event) -> Answering:
    """A byte now and then, for as long as somebody listens."""

    def answer(handler: Handler) -> None:
        handler.send_response(200)
        handler.send_header("Content-Length", "1000")
        handler.end_headers()
        while not until.wait(0.02):
            handler.wfile.write(b" ")
            handler.wfile.flush()

    return answer


class Service:
    """The scripted server: ``answers`` by path, ``asked`` what it was asked for, in order."""

    def __init__(self, address: str) -> None:
        self.address = address
        self.answers: dict[str, Answering] = {}
        self.asked: list[str] = []
        self.agents: list[str] = []
        self.over = threading.Event()

    def paths(self) -> list[str]:
        """The paths asked for, without what stands after the question mark."""
        return [urlsplit(path).path for path in self.asked]


@contextmanager
def running() -> Iterator[Service]:
    """Run a service on a free port."""
    handler = type("OwnHandler", (Handler,), {})
    server = ThreadingHTTPServer(("127.0.0.1", 0), handler)
    server.daemon_threads = True
    service = Service(f"http://127.0.0.1:{server.server_address[1]}")
    handler.service = service
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.01})
    thread.start()
    try:
        yield service
    finally:
        service.over.set()
        server.shutdown()
        thread.join()
        server.server_close()

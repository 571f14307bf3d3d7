"""Child processes that end together, and the address they serve at.

TERM goes to each child's main process only: a Celery parent can hang when its whole group
gets it. Each child leads a session of its own, so that the terminal's Ctrl-C reaches it once,
through the parent, and so that what it started can be killed with it as a last resort.
"""

import ctypes
import errno
import os
import signal
import socket
import subprocess  # nosec B404 # starts the site's own programs
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from ipaddress import ip_address
from types import FrameType
from urllib.parse import urlsplit

DEFAULT_ADDRESS = ("127.0.0.1", 8000)
STOP_SECONDS = 10.0
LOOK_SECONDS = 0.25
ENDING = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)
PR_SET_PDEATHSIG = 1


class AddressError(ValueError):
    """The address cannot be served at; ``str`` is one sentence for the operator."""


def address_to_bind(site_url: str, bind: str = "") -> tuple[str, int]:
    """Return host and port to listen on; ``bind`` ("host:port" or "port") wins.

    A site with a public https address has a proxy in front, which finds the server on the
    loopback. A plain http address with a name is meant for the neighbours on the network.
    """
    if bind:
        return _host_and_port(bind)
    try:
        site = urlsplit(site_url)
        host, port = site.hostname or "", site.port or 80
    except ValueError:
        raise AddressError(f"SITE_URL {site_url} is not an address.") from None
    if not host:
        return DEFAULT_ADDRESS
    if site.scheme == "https":
        return DEFAULT_ADDRESS
    if host == "localhost":
        return "127.0.0.1", port
    # A name may stand for any of the machine's addresses.
    return (host if _is_number(host) else "0.0.0.0"), port  # nosec B104 # as SITE_URL asks


def _host_and_port(bind: str) -> tuple[str, int]:
    host, _, port = bind.rpartition(":")
    if not port.isdecimal() or int(port) > 65535:
        raise AddressError(f"--bind {bind} is not an address; give it as 127.0.0.1:8000.")
    return host.strip("[]") or DEFAULT_ADDRESS[0], int(port)


def _is_number(host: str) -> bool:
    try:
        ip_address(host)
    except ValueError:
        return False
    return True


def shown(host: str, port: int) -> str:
    """Return the http address that a browser on this machine opens."""
    reachable = {"0.0.0.0": "127.0.0.1", "::": "::1"}.get(host, host)  # nosec B104 # only shown
    return f"http://[{reachable}]:{port}" if ":" in reachable else f"http://{reachable}:{port}"


def listen(host: str, port: int) -> socket.socket:
    """Return a listening socket; raise AddressError when the port cannot be had.

    The parent listens, so that a taken port is known before anything starts.
    """
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    listener = socket.socket(family, socket.SOCK_STREAM)
    try:
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listener.bind((host, port))
        listener.listen(256)
    except OSError as problem:
        listener.close()
        if problem.errno == errno.EADDRINUSE:
            reason = f"Port {port} on {host} is taken by another program."
        else:
            reason = f"{host} port {port} cannot be listened on ({problem.strerror})."
        raise AddressError(f"{reason} Choose another with --bind 127.0.0.1:8001.") from None
    return listener


def answers(url: str) -> bool:
    """Return whether anything answers over HTTP at ``url``, whatever it says."""
    opener = urllib.request.build_opener(urllib.request.ProxyHandler({}), _NoRedirect)
    try:
        with opener.open(url, timeout=2):
            return True
    except urllib.error.HTTPError as reply:
        reply.close()
        return True
    except OSError:
        return False


class _NoRedirect(urllib.request.HTTPRedirectHandler):
    def redirect_request(self, *_: object) -> None:
        return None


@dataclass(frozen=True, slots=True)
class Program:
    """A command line and what to call it when it ends by itself."""

    name: str
    command: Sequence[str]


class Crew:
    """Programs that run as children and end together."""

    def __init__(self) -> None:
        self._children: dict[str, subprocess.Popen[bytes]] = {}
        self._asked_to_stop = False
        # Loaded before any fork: a child between fork and exec must not take locks.
        self._prctl = ctypes.CDLL(None).prctl if sys.platform == "linux" else None

    def heed_signals(self) -> None:
        """Make Ctrl-C, TERM and a closed terminal end the crew."""
        for number in ENDING:
            # Under nohup a closed terminal is meant to change nothing.
            if number == signal.SIGHUP and signal.getsignal(number) == signal.SIG_IGN:
                continue
            signal.signal(number, self._stop)

    def _stop(self, _number: int, _frame: FrameType | None) -> None:
        self._asked_to_stop = True

    def start(self, program: Program, pass_fds: Sequence[int] = ()) -> None:
        """Start one program as a child that cannot outlive this process."""
        self._children[program.name] = subprocess.Popen(  # nosec B603 # commands of the site's own
            program.command,
            stdin=subprocess.DEVNULL,
            pass_fds=pass_fds,
            start_new_session=True,
            preexec_fn=self._end_with(os.getpid()),
        )

    def _end_with(self, parent: int) -> Callable[[], None]:
        def in_child() -> None:
            if self._prctl is not None:
                self._prctl(PR_SET_PDEATHSIG, signal.SIGTERM)
                # The parent may have gone before the line above: then no signal will come.
                if os.getppid() != parent:
                    os._exit(1)

        return in_child

    def ended(self) -> str:
        """Return the name of a program that ended by itself, or an empty string."""
        for name, child in self._children.items():
            if child.poll() is not None:
                return name
        return ""

    def wait(self, until: Callable[[], bool] = lambda: False) -> str:
        """Wait for ``until``, a signal, or a program that ends; return that program's name."""
        while not self._asked_to_stop and not until():
            if name := self.ended():
                return name
            time.sleep(LOOK_SECONDS)
        return ""

    @property
    def asked_to_stop(self) -> bool:
        """Whether a signal asked the crew to end."""
        return self._asked_to_stop

    def end(self) -> None:
        """End every program: TERM first, and KILL with all it started when it lingers."""
        for child in self._children.values():
            if child.poll() is None:
                child.terminate()
        deadline = time.monotonic() + STOP_SECONDS
        for child in self._children.values():
            with suppress(subprocess.TimeoutExpired):
                child.wait(max(0.0, deadline - time.monotonic()))
        for child in self._children.values():
            # Also when the child is gone: a worker of its may not be.
            with suppress(ProcessLookupError, PermissionError):
                os.killpg(child.pid, signal.SIGKILL)
            child.wait()

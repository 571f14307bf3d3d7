"""`manage.py serve` as an operator meets it: one command that leaves nothing behind."""

import os
import re
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from garden_site.serving import AddressError, address_to_bind, shown

pytestmark = pytest.mark.services

ROOT = Path(__file__).resolve().parents[2]
PATIENCE = 40.0


class Site:
    """One running `serve`, its output and the processes it started."""

    def __init__(self, folder: Path, port: int, **environment: str) -> None:
        self.port = port
        self.url = f"http://127.0.0.1:{port}"
        self.folder = folder
        self._log = (folder / "output").open("w+")
        self.process = subprocess.Popen(
            [sys.executable, "manage.py", "serve"],
            cwd=ROOT,
            env=site_environment(folder, SITE_URL=self.url, **environment),
            stdin=subprocess.DEVNULL,
            stdout=self._log,
            stderr=subprocess.STDOUT,
            start_new_session=True,
        )

    @property
    def output(self) -> str:
        """Everything printed so far."""
        return (self.folder / "output").read_text()

    def crew(self) -> set[int]:
        """The processes that work for this site, whoever their parent is now."""
        mark = f"DATA_DIR={self.folder}\0".encode()
        found = set()
        for place in Path("/proc").glob("[0-9]*"):
            try:
                if mark in (place / "environ").read_bytes():
                    found.add(int(place.name))
            except OSError:
                continue
        return found

    def is_ready(self) -> bool:
        """Whether it said so; a site that ended instead fails the test with its output."""
        assert self.process.poll() is None, self.output
        return "Ready at" in self.output

    def is_gone(self) -> bool:
        """Whether no process is left and the port can be had again."""
        return not self.crew() and not is_taken(self.port)

    def kill_all(self) -> None:
        """Clean up after a failed test."""
        for pid in self.crew():
            os.kill(pid, signal.SIGKILL)
        self.process.wait()
        self._log.close()


def site_environment(folder: Path, **more: str) -> dict[str, str]:
    own = {"DATA_DIR": str(folder), "DJANGO_SETTINGS_MODULE": "garden_site.settings"}
    dropped = {"BROKER_URL", "DATABASE_URL", "GARDEN_TEST_DIR"}
    kept = {name: value for name, value in os.environ.items() if name not in dropped}
    return kept | own | more


def manage(folder: Path, *arguments: str, **more: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "manage.py", *arguments],
        cwd=ROOT,
        env=site_environment(folder, **more),
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )


def wait_for(condition: Callable[[], bool], what: str, patience: float = PATIENCE) -> None:
    deadline = time.monotonic() + patience
    while not condition():
        assert time.monotonic() < deadline, f"waited {patience:g} s in vain: {what}"
        time.sleep(0.1)


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def is_taken(port: int) -> bool:
    with socket.socket() as probe:
        return probe.connect_ex(("127.0.0.1", port)) == 0


@pytest.fixture(scope="module")
def migrated(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """An empty, migrated database as the bytes of its file."""
    folder = tmp_path_factory.mktemp("migrated")
    done = manage(folder, "migrate", "-v", "0")
    assert done.returncode == 0, done.stderr
    manage(folder, "shell", "-c", "from django.db import connection as c; c.cursor().execute("
           "'PRAGMA wal_checkpoint(TRUNCATE)')")  # fmt: skip
    return (folder / "garden.sqlite3").read_bytes()


@pytest.fixture
def folder(tmp_path: Path, migrated: bytes) -> Path:
    (tmp_path / "garden.sqlite3").write_bytes(migrated)
    return tmp_path


@pytest.fixture
def site(folder: Path) -> Iterator[Site]:
    site = Site(folder, free_port(), TICK_SECONDS="1")
    try:
        wait_for(site.is_ready, "the site to be ready")
        yield site
    finally:
        site.kill_all()


def test_it_names_its_address_once_and_answers_there(site: Site) -> None:
    assert len(re.findall(r"^Ready at", site.output, re.MULTILINE)) == 1
    assert f"Ready at {site.url} " in site.output
    try:
        with urllib.request.urlopen(f"{site.url}/healthz", timeout=10) as reply:
            status = reply.status
    except urllib.error.HTTPError as reply:
        status = reply.code
    assert status == 200, site.output


def test_the_scheduler_runs_beside_the_web_server(site: Site) -> None:
    wait_for(lambda: "dispatch_tick" in site.output, "the first tick")
    # serve itself, the web server with its worker, and the scheduler
    assert len(site.crew()) == 4


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
def test_a_signal_ends_everything_cleanly(site: Site, number: signal.Signals) -> None:
    site.process.send_signal(number)
    assert site.process.wait(PATIENCE) == 0, site.output
    # At once, not after a while: serve waits for all it started.
    assert site.is_gone()
    assert "Traceback" not in site.output


def test_ctrl_c_to_the_whole_group_is_one_clean_stop(site: Site) -> None:
    os.killpg(site.process.pid, signal.SIGINT)
    assert site.process.wait(PATIENCE) == 0, site.output
    assert site.is_gone()
    assert "Traceback" not in site.output


def test_nothing_outlives_a_killed_parent(site: Site) -> None:
    site.process.kill()
    site.process.wait()
    wait_for(site.is_gone, "the children to end")


@pytest.mark.parametrize("name", ["gunicorn", "celery"])
def test_when_one_ends_all_end_and_it_is_named(site: Site, name: str) -> None:
    leaders = [pid for pid in site.crew() if os.getsid(pid) == pid and name in command_of(pid)]
    assert len(leaders) == 1
    os.kill(leaders[0], signal.SIGKILL)
    assert site.process.wait(PATIENCE) == 1
    assert site.is_gone()
    assert {"gunicorn": "web server", "celery": "scheduler"}[name] in site.output


def command_of(pid: int) -> str:
    return Path(f"/proc/{pid}/cmdline").read_text()


def test_a_taken_port_is_said_plainly(folder: Path) -> None:
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]
        done = manage(folder, "serve", SITE_URL=f"http://127.0.0.1:{port}")
    assert done.returncode == 1
    assert f"Port {port} on 127.0.0.1 is taken" in done.stderr
    assert "Traceback" not in done.stderr


def test_a_broker_asks_for_separate_services(folder: Path) -> None:
    done = manage(folder, "serve", BROKER_URL="redis://127.0.0.1:1/0")
    assert done.returncode == 1
    assert "BROKER_URL is set" in done.stderr


@pytest.mark.parametrize(
    ("site_url", "bind", "address"),
    [
        ("http://127.0.0.1:8000", "", ("127.0.0.1", 8000)),
        ("http://localhost:9000", "", ("127.0.0.1", 9000)),
        ("http://[::1]:8000", "", ("::1", 8000)),
        ("http://192.168.1.20", "", ("192.168.1.20", 80)),
        ("http://shed.local:8000", "", ("0.0.0.0", 8000)),
        ("https://garden.example", "", ("127.0.0.1", 8000)),
        ("https://garden.example", "0.0.0.0:8080", ("0.0.0.0", 8080)),
        ("http://localhost:9000", "8001", ("127.0.0.1", 8001)),
        ("http://localhost:9000", "[::1]:8001", ("::1", 8001)),
    ],
)
def test_where_it_listens(site_url: str, bind: str, address: tuple[str, int]) -> None:
    assert address_to_bind(site_url, bind) == address


@pytest.mark.parametrize("bind", ["here", "127.0.0.1:", "127.0.0.1:70000", "localhost:web"])
def test_a_bind_that_is_no_address_is_refused(bind: str) -> None:
    with pytest.raises(AddressError, match="is not an address"):
        address_to_bind("http://localhost:8000", bind)


def test_what_is_shown_opens_in_a_browser() -> None:
    assert shown("0.0.0.0", 8000) == "http://127.0.0.1:8000"
    assert shown("::1", 8000) == "http://[::1]:8000"

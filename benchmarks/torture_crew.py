"""The site's processes under torture: started, killed by -9, started again."""

import os
import random
import signal
import subprocess
import sys
import time
from contextlib import suppress
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent


class Member:
    """One program that leads a session of its own, and all that it started."""

    def __init__(self, name: str, command: list[str], environment: dict[str, str], log: Path):
        self.name = name
        self.command = command
        self._environment = environment
        self._log = log
        self._process: subprocess.Popen[bytes] | None = None
        self.start()

    def start(self) -> None:
        """Start it, as whatever watches over the site would."""
        with self._log.open("ab") as log:
            self._process = subprocess.Popen(
                self.command,
                cwd=ROOT,
                env={**self._environment, "TORTURE_MEMBER": self.name},
                stdin=subprocess.DEVNULL,
                stdout=log,
                stderr=log,
                start_new_session=True,
            )

    @property
    def leader(self) -> int:
        """Its first process."""
        assert self._process is not None
        return self._process.pid

    @property
    def is_up(self) -> bool:
        """Whether its first process lives."""
        return self._process is not None and self._process.poll() is None

    def everyone(self) -> list[int]:
        """Return all processes that bear its mark, whoever their parent is by now."""
        mark = f"TORTURE_MEMBER={self.name}\0".encode()
        found = []
        for place in Path("/proc").glob("[0-9]*"):
            with suppress(OSError):
                if mark in (place / "environ").read_bytes():
                    found.append(int(place.name))
        return found

    def kill(self, pids: list[int]) -> list[int]:
        """Kill these by -9; returns them, for the notes."""
        for pid in pids:
            with suppress(ProcessLookupError):
                os.kill(pid, signal.SIGKILL)
        if self._process is not None and self.leader in pids:
            self._process.wait()
        return pids

    def kill_some(self) -> tuple[str, list[int]]:
        """Kill all of it, its leader alone, or one that it started; returns what, and who died.

        A worker's processes asked the system to be killed with their leader. Those of `serve`
        are asked to stop instead, so they are not among the dead: what they do about a mail
        in their hands is theirs to answer for.
        """
        how = random.choice(("all", "leader", "child"))
        everyone = self.everyone()
        children = [pid for pid in everyone if pid != self.leader]
        if how == "child" and children:
            return how, self.kill([random.choice(children)])
        if how == "leader":
            self.kill([self.leader])
            return how, [self.leader] if self.name == "serve" else everyone
        return "all", self.kill(everyone)

    def end(self) -> None:
        """Kill whatever is left of it."""
        while left := self.everyone():
            self.kill(left)
            time.sleep(0.1)


def services(environment: dict[str, str], folder: Path, port: int) -> list[Member]:
    """Start web, two beats and two workers."""

    def member(name: str, *command: str) -> Member:
        return Member(name, [sys.executable, "-m", *command], environment, folder / f"{name}.log")

    def worker(name: str) -> Member:
        return member(name, "celery", "--quiet", "-A", "garden_site", "worker", "--pool=prefork",
                      "--concurrency=2", "--loglevel=WARNING", "-n", f"{name}@torture")  # fmt: skip

    def beat(name: str) -> Member:
        return member(name, "celery", "--quiet", "-A", "garden_site", "beat", "--loglevel=WARNING",
                      "--pidfile=", "--schedule", str(folder / f"{name}.schedule"))  # fmt: skip

    web = member("web", "gunicorn", "garden_site.wsgi:application", "--bind", f"127.0.0.1:{port}",
                 "--worker-class", "gthread", "--workers", "1", "--threads", "2",
                 "--log-level", "warning", "--no-control-socket")  # fmt: skip
    return [web, beat("beat1"), beat("beat2"), worker("worker1"), worker("worker2")]


def embedded(environment: dict[str, str], folder: Path, port: int) -> list[Member]:
    """Start the site as one command."""
    command = [sys.executable, "manage.py", "serve", "--bind", f"127.0.0.1:{port}"]
    return [Member("serve", command, environment, folder / "serve.log")]

"""A PostgreSQL cluster and a Redis server of the torture's own, which it stops and starts again."""

import os
import pwd
import shutil
import socket
import subprocess
import time
from pathlib import Path

HOST = "127.0.0.1"


def free_port() -> int:
    """Return a port that was free a moment ago."""
    with socket.socket() as probe:
        probe.bind((HOST, 0))
        return int(probe.getsockname()[1])


class Postgres:
    """A cluster with the settings of a server: what it has committed survives its end."""

    def __init__(self, folder: Path) -> None:
        self._data = folder / "postgres"
        self._port = free_port()
        # It refuses to run as root.
        self._as = ["runuser", "-u", "postgres", "--"] if os.getuid() == 0 else []
        self._data.mkdir()
        if self._as:
            shutil.chown(self._data, pwd.getpwnam("postgres").pw_uid)
        self._run("initdb", "-D", self._data, "-U", "postgres", "-A", "trust", "-E", "UTF8",
                  "--locale=C.UTF-8", "--no-sync")  # fmt: skip
        self.start()
        self._run("createdb", "-h", HOST, "-p", self._port, "-U", "postgres", "garden")

    @property
    def url(self) -> str:
        """The address of the database."""
        return f"postgres://postgres@{HOST}:{self._port}/garden"

    def start(self) -> None:
        """Start, and return when it answers."""
        options = f"-p {self._port} -k {self._data} -c listen_addresses={HOST}"
        self._run("pg_ctl", "start", "-w", "-t", "60", "-D", self._data,
                  "-l", self._data / "server.log", "-o", options)  # fmt: skip

    def stop(self) -> None:
        """Stop at once, as in a power cut: nobody may finish anything."""
        self._run("pg_ctl", "stop", "-m", "immediate", "-D", self._data)

    def _run(self, program: str, *arguments: object) -> None:
        command = [*self._as, str(_postgres_program(program)), *map(str, arguments)]
        done = subprocess.run(
            command, cwd="/", capture_output=True, text=True, check=False, stdin=subprocess.DEVNULL
        ) if program != "pg_ctl" else _quietly(command)  # fmt: skip
        if done.returncode:
            raise RuntimeError(f"{program} failed: {done.stderr}")


def _quietly(command: list[str]) -> "subprocess.CompletedProcess[str]":
    # The server inherits what its starter has open, and would keep a pipe from ending.
    return subprocess.run(
        command,
        cwd="/",
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        text=True,
        check=False,
    )


def _postgres_program(name: str) -> Path:
    installed = sorted(Path("/usr/lib/postgresql").glob(f"*/bin/{name}"))
    return installed[-1] if installed else Path(shutil.which(name) or name)


class Redis:
    """A server that keeps nothing, as the site asks for none."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._port = free_port()
        self.start()

    @property
    def url(self) -> str:
        """The address of the broker."""
        return f"redis://{HOST}:{self._port}/0"

    def start(self) -> None:
        """Start, and return when it answers."""
        with (self._folder / "redis.log").open("a") as log:
            self._process = subprocess.Popen(
                ["redis-server", "--bind", HOST, "--port", str(self._port), "--save", "",
                 "--appendonly", "no", "--maxmemory-policy", "noeviction"],
                cwd=self._folder, stdin=subprocess.DEVNULL, stdout=log, stderr=log,
            )  # fmt: skip
        for _ in range(100):
            with socket.socket() as probe:
                if probe.connect_ex((HOST, self._port)) == 0:
                    return
            time.sleep(0.1)
        raise RuntimeError("Redis does not answer.")

    def stop(self) -> None:
        """Stop at once, with all it held."""
        self._process.kill()
        self._process.wait()

"""Everything that can die, dies, again and again; then every reminder is counted.

Run: .venv/bin/python benchmarks/torture.py [--minutes 10] [--embedded] [--keep]
         [--changes 2] [--lease 60]

Services: web, two beats and two workers on a PostgreSQL and a Redis of their own, with a real
local mail server. Processes are killed by -9, PostgreSQL and Redis are stopped at once and
started again, beats run twice, broker messages come twice, and the clock passes both changes of
daylight saving time. Embedded: `manage.py serve` on SQLite, killed as a whole or in part.

The clock is set only while no message is leased: a lease is a promise in the clock's own time,
and a jump of hours would end all of them at once. It then runs over each change by itself.

Prints one JSON object; the exit status is 1 when a reminder was lost, or sent twice without a
crash between the mail server's acknowledgement and the stamp, or when the site did not get ready
again by itself.
"""

import argparse
import json
import os
import random
import shutil
import subprocess
import sys
import tempfile
import time
from collections import Counter
from contextlib import ExitStack
from dataclasses import asdict
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from urllib.request import urlopen

import mail_sink
import torture_crew
import torture_feed
from torture_judge import judge, read_lines
from torture_servers import Postgres, Redis, free_port

SITE_HOST = "torture.example"
# Europe/Paris, both at 01:00 UTC; the mornings are at 07:00 on the wall.
CHANGES = (
    (datetime(2026, 10, 25, 1, tzinfo=UTC), datetime(2026, 10, 25, 6, 0, 5, tzinfo=UTC)),
    (datetime(2027, 3, 28, 1, tzinfo=UTC), datetime(2027, 3, 28, 5, 0, 5, tzinfo=UTC)),
)
PATIENCE = 400.0
ASKED_AGAIN = 10
KILL_EVERY = (1.5, 5.0)


class Torture:
    """One run: its folder, its servers, its processes and what was done to them."""

    def __init__(self, folder: Path, *, is_embedded: bool, lease: float, sink_port: int) -> None:
        self.folder = folder
        self.lease = lease
        self.kills: list[dict[str, Any]] = []
        self.done: Counter[str] = Counter()
        self.postgres = None if is_embedded else Postgres(folder)
        self.redis = None if is_embedded else Redis(folder)
        self.environment = self._environment(sink_port)
        self.set_clock(CHANGES[0][0])
        self._python("manage.py", "migrate", "-v", "0")
        self._python("benchmarks/torture_feed.py", "found")
        start = torture_crew.embedded if is_embedded else torture_crew.services
        self.feeder = torture_crew.Member(
            "feeder",
            [sys.executable, "benchmarks/torture_feed.py", "feed"],
            self.environment,
            folder / "feeder.log",
        )
        self.port = free_port()
        self.crew = start(self.environment, folder, self.port)

    def _environment(self, sink_port: int) -> dict[str, str]:
        kept = {name: value for name, value in os.environ.items() if name != "GARDEN_TEST_DIR"}
        own = {
            "DJANGO_SETTINGS_MODULE": "benchmarks.torture_settings",
            "TORTURE_DIR": str(self.folder),
            "TORTURE_LEASE": str(self.lease),
            "DATA_DIR": str(self.folder),
            "SECRET_KEY": "only-for-the-torture-" + "0123456789abcdef" * 4,
            "SITE_URL": f"http://{SITE_HOST}",
            "EMAIL_URL": f"smtp://{mail_sink.HOST}:{sink_port}",
            "TICK_SECONDS": "2",
            "LOG_LEVEL": "WARNING",
            "DATABASE_URL": self.postgres.url
            if self.postgres
            else f"sqlite:///{self.folder}/garden.sqlite3",
            "BROKER_URL": self.redis.url if self.redis else "",
        }
        return kept | own

    def _python(self, *command: str) -> None:
        subprocess.run(
            [sys.executable, *command],
            cwd=torture_crew.ROOT,
            env=self.environment,
            stdin=subprocess.DEVNULL,
            check=True,
        )

    def set_clock(self, to: datetime) -> None:
        """Let the site's clock show ``to`` now."""
        text = str((to - datetime.now(UTC)).total_seconds())
        (self.folder / "offset.new").write_text(text)
        (self.folder / "offset.new").replace(self.folder / "offset")

    def tear(self, seconds: float) -> None:
        """Do harm for so long."""
        ends = time.monotonic() + seconds
        while time.monotonic() < ends:
            time.sleep(min(random.uniform(*KILL_EVERY), max(0.0, ends - time.monotonic())))
            self._harm()
            self.mend()

    def _harm(self) -> None:
        if self.postgres is None:
            choices = [self._kill, self._double_by_hand]
            return random.choices(choices, (4, 1))[0]()
        choices = [self._kill, self._double, self._restart_redis, self._restart_postgres]
        return random.choices(choices, (10, 4, 1, 1))[0]()

    def _kill(self) -> None:
        member = random.choices(self.crew, [1 if m.name == "web" else 3 for m in self.crew])[0]
        if not member.is_up:
            return
        how, pids = member.kill_some()
        self.kills.append({"at": time.time(), "member": member.name, "how": how, "pids": pids})
        self.done[f"killed {member.name.rstrip('12')}, {how}"] += 1
        time.sleep(random.uniform(0, 1))

    def _double(self) -> None:
        """Send broker messages that nobody asked for, several times the same."""
        from celery import Celery
        from kombu.exceptions import OperationalError

        assert self.redis is not None
        app = Celery(broker=self.redis.url)
        app.conf.broker_transport_options = {"global_keyprefix": "garden:"}
        try:
            for _ in range(4):
                for name in ("dispatch_tick", "remind_tick"):
                    app.send_task(f"lifecycle.jobs.{name}", ignore_result=True, retry=False)
                    self.done["doubled broker messages"] += 1
        except OperationalError:
            pass
        finally:
            app.close()

    def _double_by_hand(self) -> None:
        """Run the dispatcher beside the scheduler's, as a forgotten cron entry would."""
        extra = torture_crew.Member(
            "serve",
            [sys.executable, "manage.py", "tick", "dispatch"],
            self.environment,
            self.folder / "tick.log",
        )
        self.crew[1:] = [extra]
        self.done["ticks by hand"] += 1

    def _restart_redis(self) -> None:
        assert self.redis is not None
        self.redis.stop()
        time.sleep(random.uniform(0, 4))
        self.redis.start()
        self.done["redis stopped"] += 1

    def _restart_postgres(self) -> None:
        assert self.postgres is not None
        self.postgres.stop()
        time.sleep(random.uniform(0, 4))
        self.postgres.start()
        self.done["postgresql stopped"] += 1

    def mend(self) -> None:
        """Start again what is down."""
        for member in self.crew:
            if not member.is_up and "tick" not in member.command:
                if member.name == "serve":
                    self._end_the_rest(member)
                member.start()

    def _end_the_rest(self, member: torture_crew.Member) -> None:
        """What of a killed `serve` lingers must free the port; who is killed here is noted."""
        rest = member.kill(member.everyone())
        self.kills.append({"at": time.time(), "member": member.name, "how": "rest", "pids": rest})

    def settle(self) -> None:
        """Wait, unharmed, until nothing is due and nothing is leased."""
        (self.folder / "rest").touch()
        ends = time.monotonic() + PATIENCE
        while waiting := self.count("waiting"):
            self.mend()
            if time.monotonic() > ends:
                print(f"{waiting} messages still wait after {PATIENCE} s", file=sys.stderr)
                return
            time.sleep(1)
        while not self._is_ready():
            self.mend()
            if time.monotonic() > ends:
                self.done["never ready again"] += 1
                return
            time.sleep(1)

    def _is_ready(self) -> bool:
        try:
            with urlopen(f"http://127.0.0.1:{self.port}/readyz", timeout=10) as answer:
                return answer.status == 200
        except OSError:
            return False

    def go_on(self) -> None:
        """Let the feeder go on."""
        (self.folder / "rest").unlink(missing_ok=True)

    def count(self, what: str) -> Any:
        """Ask the database, by a process of its own; again when it is just coming up or locked."""
        for _ in range(ASKED_AGAIN):
            done = subprocess.run(
                [sys.executable, "benchmarks/torture_feed.py", what],
                cwd=torture_crew.ROOT,
                env=self.environment,
                stdin=subprocess.DEVNULL,
                capture_output=True,
                text=True,
                check=False,
            )
            if done.returncode == 0:
                return json.loads(done.stdout)
            time.sleep(1)
        raise RuntimeError(f"The database did not tell {what}:\n{done.stderr}")

    def end(self) -> None:
        """Kill everything."""
        for member in (self.feeder, *self.crew):
            member.end()
        for server in (self.postgres, self.redis):
            if server is not None:
                server.stop()


def run(
    minutes: float, *, changes: int, is_embedded: bool, lease: float, folder: Path
) -> dict[str, Any]:
    """Torture for so long and return the report."""
    with ExitStack() as stack:
        sink_port = stack.enter_context(mail_sink.running(folder / "mails"))
        torture = Torture(folder, is_embedded=is_embedded, lease=lease, sink_port=sink_port)
        stack.callback(torture.end)
        part = minutes * 60 / (2 * changes)
        for change, morning in CHANGES[:changes]:
            # The change comes in the middle of the night's part.
            for moment in (change - timedelta(seconds=part / 2), morning):
                torture.set_clock(moment)
                torture.done["clock set"] += 1
                torture.go_on()
                torture.tear(part)
                torture.settle()
        (folder / "kills").write_text("\n".join(map(json.dumps, torture.kills)) + "\n")
        verdict = judge(
            read_lines(folder / "notes"),
            read_lines(folder / "mails"),
            torture.kills,
            torture.count("states"),
            about="torture",
            host=SITE_HOST,
            zone=torture_feed.ZONE,
        )
    return {
        "mode": "embedded" if is_embedded else "services",
        "minutes": minutes,
        "good": verdict.is_good and not torture.done["never ready again"],
        **asdict(verdict),
        "done": dict(sorted(torture.done.items())),
    }


def main() -> int:
    """Run as asked; returns the exit status."""
    parser = argparse.ArgumentParser(description="Kill everything and count the reminders.")
    parser.add_argument("--minutes", type=float, default=10.0)
    parser.add_argument("--changes", type=int, choices=(1, 2), default=2, help="of the clock")
    parser.add_argument("--lease", type=float, default=60.0, help="seconds a claim lasts")
    parser.add_argument("--embedded", action="store_true")
    parser.add_argument("--keep", action="store_true", help="keep the folder with all the logs")
    given = parser.parse_args()
    folder = Path(tempfile.mkdtemp(prefix="garden-torture-"))
    folder.chmod(0o755)
    report = run(
        given.minutes,
        changes=given.changes,
        is_embedded=given.embedded,
        lease=given.lease,
        folder=folder,
    )
    print(json.dumps(report, indent=2))
    if given.keep or not report["good"]:
        print(f"Logs: {folder}", file=sys.stderr)
    else:
        shutil.rmtree(folder, ignore_errors=True)
    return 0 if report["good"] else 1


if __name__ == "__main__":
    sys.exit(main())

"""A real mail server that takes everything and notes what it took, as a process of its own.

Run: .venv/bin/python benchmarks/mail_sink.py PORT [LOG]

LOG gets one line of JSON a mail, written before the mail is acknowledged: when, to whom, its
Message-ID, and its headers that begin with X-Torture.
"""

import asyncio
import json
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from email.parser import BytesHeaderParser
from pathlib import Path
from typing import Any

HOST = "127.0.0.1"


class Taker:
    """Takes every mail; with a log it notes each one."""

    def __init__(self, log: Path | None) -> None:
        self._log = log.open("a", buffering=1) if log else None

    async def handle_DATA(self, server: Any, session: Any, envelope: Any) -> str:
        """Note the mail and acknowledge it."""
        if self._log is not None:
            head = BytesHeaderParser().parsebytes(envelope.content)
            noted = {
                "at": time.time(),
                "to": envelope.rcpt_tos,
                "id": head["Message-ID"],
                **{name: head[name] for name in head if name.startswith("X-Torture")},
            }
            self._log.write(json.dumps(noted) + "\n")
        return "250 taken"


async def serve(port: int, log: Path | None) -> None:
    """Serve until the process ends."""
    from aiosmtpd.smtp import SMTP

    loop = asyncio.get_running_loop()
    server = await loop.create_server(
        lambda: SMTP(Taker(log), loop=loop, hostname="sink.example", enable_SMTPUTF8=True),
        HOST,
        port,
    )
    sys.stdout.write(f"{server.sockets[0].getsockname()[1]}\n")
    sys.stdout.flush()
    await server.serve_forever()


@contextmanager
def running(log: Path | None = None) -> Iterator[int]:
    """Run a sink beside the caller; gives its port."""
    command = [sys.executable, __file__, "0", *([str(log)] if log else [])]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
    try:
        assert process.stdout is not None
        yield int(process.stdout.readline())
    finally:
        process.kill()
        process.wait()


if __name__ == "__main__":
    asyncio.run(serve(int(sys.argv[1]), Path(sys.argv[2]) if len(sys.argv) > 2 else None))

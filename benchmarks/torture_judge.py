"""Joins what the mail server took with what was put, stamped and killed, and gives a verdict.

A reminder may reach the server twice only if the process that sent it was killed between the
server's acknowledgement and its stamp. The kills are known from who did them, not from the
site.
"""

import hashlib
import json
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

OPEN_HOURS = range(7, 21)
LONGEST_WINDOW = 25.0
"""Seconds: the pause, and a stamp that waits for the database."""
SLACK = 0.2
"""Seconds by which a process may outlive the note of its death: its leader dies first."""


@dataclass
class Verdict:
    """What came of a run; from ``lost`` on, every list must be empty and every number zero.

    ``put`` is what the feeder knows to be committed: one more may be, when the database stopped
    before it said so.
    """

    put: int = 0
    delivered: int = 0
    duplicates: int = 0
    crashes_in_window: int = 0
    stamped_but_not_noted: int = 0
    pruned: int = 0
    lost: list[int] = field(default_factory=list)
    not_sent: dict[str, str] = field(default_factory=dict)
    not_on_the_page: list[int] = field(default_factory=list)
    unexplained: list[str] = field(default_factory=list)
    wrong_message_id: list[str] = field(default_factory=list)
    at_night: list[str] = field(default_factory=list)
    unknown_mails: int = 0

    @property
    def is_good(self) -> bool:
        """Whether nothing was lost, and every repeat has its crash."""
        wrong = (
            *(self.lost, self.not_sent, self.not_on_the_page, self.unexplained),
            *(self.wrong_message_id, self.at_night, self.unknown_mails),
        )
        return not any(wrong) and self.duplicates == self.crashes_in_window and self.put > 0


def read_lines(path: Path) -> list[dict[str, Any]]:
    """Return the notes in a file of JSON lines; a line cut off by a kill is none."""
    found = []
    for line in path.read_text().splitlines() if path.exists() else ():
        try:
            found.append(json.loads(line))
        except ValueError:
            continue
    return found


def judge(
    notes: list[dict[str, Any]],
    mails: list[dict[str, Any]],
    kills: list[dict[str, Any]],
    states: dict[str, str],
    *,
    about: str,
    host: str,
    zone: str,
) -> Verdict:
    """Return the verdict.

    ``notes`` tell what was put and stamped, ``mails`` what the server took, ``kills`` which
    processes died when, ``states`` how each message of the database stands in the end.
    """
    verdict = Verdict()
    numbers = {note["put"] for note in notes if "put" in note}
    stamped = {note["stamped"] for note in notes if "stamped" in note}
    by_key: defaultdict[str, list[dict[str, Any]]] = defaultdict(list)
    for mail in mails:
        by_key[mail["X-Torture-Key"]].append(mail)
    verdict.put = len(numbers)
    verdict.delivered = len(by_key)
    verdict.lost = sorted(n for n in numbers if f"{about}:{n}:email" not in by_key)
    verdict.not_sent = {key: state for key, state in states.items() if state != "sent"}
    verdict.not_on_the_page = sorted(
        n for n in numbers if states.get(f"{about}:{n}:inbox") != "sent"
    )
    gone = [key for key in by_key if key not in states]
    # A season lies between the two changes: the first half's mail rows were pruned since then.
    verdict.pruned = sum(states.get(_twin(key)) == "sent" for key in gone)
    verdict.unknown_mails = len(gone) - verdict.pruned
    # In the order in which it happened: the last kill of a process is its death.
    died = {pid: kill["at"] for kill in kills for pid in kill["pids"]}
    for key, sent in by_key.items():
        _judge_one(verdict, key, sorted(sent, key=lambda mail: mail["at"]), stamped, died)
        right = f"<{hashlib.sha256(key.encode()).hexdigest()[:32]}@{host}>"
        verdict.wrong_message_id += [key for mail in sent if mail["id"] != right]
        verdict.at_night += _at_night(key, sent, about, zone)
    return verdict


def _twin(key: str) -> str:
    return f"{key.removesuffix('email')}inbox"


def _judge_one(
    verdict: Verdict,
    key: str,
    sent: list[dict[str, Any]],
    stamped: set[str],
    died: dict[int, float],
) -> None:
    """Every attempt but the last must have died in its window, and the last be stamped."""
    verdict.duplicates += len(sent) - 1
    for mail in sent[:-1]:
        if mail["X-Torture-Attempt"] not in stamped and _died_in_window(mail, died):
            verdict.crashes_in_window += 1
        else:
            verdict.unexplained.append(f"{key} by {mail['X-Torture-Attempt']}")
    last = sent[-1]
    if last["X-Torture-Attempt"] not in stamped:
        if _died_in_window(last, died):
            verdict.stamped_but_not_noted += 1
        else:
            verdict.unexplained.append(f"{key} by {last['X-Torture-Attempt']}, never noted")


def _died_in_window(mail: dict[str, Any], died: dict[int, float]) -> bool:
    death = died.get(int(mail["X-Torture-Attempt"].partition("-")[0]))
    return death is not None and -SLACK <= death - mail["at"] <= LONGEST_WINDOW


def _at_night(key: str, sent: Iterable[dict[str, Any]], about: str, zone: str) -> list[str]:
    """Return what went out in quiet hours though it was not of the kind that may."""
    number = key.removeprefix(f"{about}:").partition(":")[0]
    if not number.isdigit() or int(number) % 2 == 0:
        return []
    hours = [
        datetime.fromisoformat(mail["X-Torture-Now"]).astimezone(ZoneInfo(zone)) for mail in sent
    ]
    return [f"{key} at {hour:%H:%M}" for hour in hours if hour.hour not in OPEN_HOURS]

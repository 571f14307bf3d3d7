"""The judge of the torture finds what it is there to find."""

import hashlib
from collections.abc import Callable
from typing import Any

import pytest

from benchmarks.torture_judge import LONGEST_WINDOW, Verdict, judge, read_lines

HOST, ZONE = "torture.example", "Europe/Paris"


def mail(number: int, attempt: str, at: float, **more: Any) -> dict[str, Any]:
    key = f"torture:{number}:email"
    name = hashlib.sha256(key.encode()).hexdigest()[:32]
    return {
        **{"at": at, "id": f"<{name}@{HOST}>", "X-Torture-Key": key},
        **{"X-Torture-Attempt": attempt, "X-Torture-Now": "2026-10-25T08:00:00+00:00"},
        **more,
    }


class Run:
    """One reminder, sent by process 1 that died, and once more by process 2, which stamped it."""

    def __init__(self) -> None:
        self.notes: list[dict[str, Any]] = [{"put": 7}, {"stamped": "2-b"}]
        self.mails = [mail(7, "1-a", 100.0), mail(7, "2-b", 160.0)]
        self.kills: list[dict[str, Any]] = [{"at": 100.1, "pids": [1]}]
        self.states = {"torture:7:email": "sent", "torture:7:inbox": "sent"}

    def verdict(self) -> Verdict:
        given = (self.notes, self.mails, self.kills, self.states)
        return judge(*given, about="torture", host=HOST, zone=ZONE)


def test_a_repeat_with_its_crash_is_good() -> None:
    verdict = Run().verdict()
    assert verdict.is_good
    assert (verdict.duplicates, verdict.crashes_in_window, verdict.delivered) == (1, 1, 1)


def test_a_stamp_that_was_not_noted_is_good_when_its_process_died() -> None:
    run = Run()
    del run.mails[1], run.notes[1]
    assert run.verdict().is_good
    assert run.verdict().stamped_but_not_noted == 1
    run.kills.clear()
    assert not run.verdict().is_good


def test_a_row_that_was_pruned_is_known_by_its_twin() -> None:
    run = Run()
    del run.states["torture:7:email"]
    assert (run.verdict().is_good, run.verdict().pruned) == (True, 1)
    run.states["torture:7:inbox"] = "pending"
    assert not run.verdict().is_good


@pytest.mark.parametrize(
    "harm",
    [
        lambda run: run.kills.clear(),
        lambda run: run.kills[0].update(at=99.0),
        lambda run: run.kills[0].update(at=101 + LONGEST_WINDOW),
        lambda run: run.kills[0].update(pids=[3]),
        lambda run: run.notes.append({"stamped": "1-a"}),
        lambda run: run.mails[1].update(id="<another@torture.example>"),
        lambda run: run.mails.clear(),
        lambda run: run.notes.append({"put": 9}),
        lambda run: run.states.update({"torture:7:email": "failed"}),
        lambda run: run.states.update({"torture:7:inbox": "pending"}),
        lambda run: run.mails[1].update({"X-Torture-Now": "2026-10-25T05:59:00+00:00"}),
        lambda run: run.mails.append(mail(8, "2-c", 170.0)),
        lambda run: run.notes.clear(),
    ],
    ids=[
        *("no kill", "killed before", "killed long after", "another was killed"),
        *("both stamped", "another Message-ID", "lost", "never came", "failed"),
        *("not on the page", "at night", "a mail nobody put", "nothing was put"),
    ],
)
def test_what_is_wrong_is_found(harm: Callable[[Run], object]) -> None:
    run = Run()
    harm(run)
    assert not run.verdict().is_good


def test_a_line_cut_off_by_a_kill_is_left_out(tmp_path: Any) -> None:
    notes = tmp_path / "notes"
    assert read_lines(notes) == []
    notes.write_text('{"put": 1}\n{"pu')
    assert read_lines(notes) == [{"put": 1}]

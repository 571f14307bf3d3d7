"""What happened to a task, in sentences, from the day it was made."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from lifecycle.care.wording import in_units
from lifecycle.models import Membership, Person, Task, TaskEvent
from lifecycle.records.work.cover_chain import HAD_TAKEN
from lifecycle.records.work.offers import TAKEN_BACK
from lifecycle.web.door import rows
from lifecycle.web.words import day_words

Act = TaskEvent.Act
NAMELESS = "Somebody"


@dataclass(frozen=True, slots=True)
class Happened:
    """One thing that happened to a task, and when on the site's clock."""

    when: str
    sentence: str


def history_of(task: Task, member: Membership, now: datetime) -> list[Happened]:
    """Return what happened to a task, the first first. One query."""
    made = "It was made a task of the chore." if task.chore_id else "The plan made it a task."
    events = rows(TaskEvent, member).filter(task=task).select_related("by", "to")
    return [
        Happened(_when(task.made_at, task, now), made),
        *(
            Happened(_when(event.at, task, now), sentence_of(event, member.person))
            for event in events.order_by("at", "pk")
        ),
    ]


def _when(at: datetime, task: Task, now: datetime) -> str:
    local = at.astimezone(ZoneInfo(task.site.time_zone))
    return f"{day_words(local.date(), task.site.local_day(now))}, {local:%H:%M}"


def sentence_of(event: TaskEvent, reader: Person) -> str:
    """Return what happened as one sentence, numbers in the reader's units."""
    note = in_units(event.note, reader.temperature, reader.length, event.at.date())
    by = str(event.by) if event.by else NAMELESS
    return _SENTENCES[Act(event.act)](by, str(event.to) if event.to else "", note)


def _told(note: str) -> str:
    return f": {note.rstrip('.')}." if note else "."


def _given_back(by: str, to: str, note: str) -> str:
    if by == NAMELESS:
        return f"It is with {to} again." if to else f"It was given back{_told(note)}"
    return f"{by} took it back from {to}." if to else f"{by} gave it back."


def _offer_refused(by: str, to: str, note: str) -> str:
    if note == TAKEN_BACK:
        return f"{by} took back the offer to {to}."
    return f"{by} said no to the offer of {to}."


def _opened(by: str, to: str, note: str) -> str:
    if by == NAMELESS:
        return "It stands in the plan again."
    return f"{by} opened it again{_told(note)}"


def _covered(by: str, to: str, note: str) -> str:
    had = "" if note == HAD_TAKEN else ", who minds it,"
    return f"{by}{had} is away: it went to {to}."


_SENTENCES: dict[str, Callable[[str, str, str], str]] = {
    Act.MOVED: lambda by, to, note: f"The plan moved it {note}.",
    Act.WITHDRAWN: lambda by, to, note: f"It was withdrawn{_told(note)}",
    Act.REOPENED: _opened,
    Act.TAKEN: lambda by, to, note: f"{by} took it over from {to}." if to else f"{by} took it.",
    Act.GIVEN: lambda by, to, note: f"{by} gave it to {to}.",
    Act.GIVEN_BACK: _given_back,
    Act.DECLINED: lambda by, to, note: f"{by} declined{_told(note)}",
    Act.OFFERED: lambda by, to, note: f"{by} offered it to {to}{f', {note}' if note else ''}.",
    Act.SWAPPED: lambda by, to, note: f"{by} swapped it with {to}, who has it now.",
    Act.OFFER_REFUSED: _offer_refused,
    Act.COVERED: _covered,
    Act.HANDED_OVER: lambda by, to, note: f"It moved to {to} with a hand-over.",
    Act.LEFT: lambda by, to, note: f"{by} left the garden.",
    Act.PROMOTED: lambda by, to, note: f"The forecast closes its window{_told(note)}",
    Act.TO_OTHERS: lambda by, to, note: "Nobody had done it: others of the place were asked.",
    Act.RAISED: lambda by, to, note: "Nobody took it: it was shown to the coordinators.",
    Act.DONE: lambda by, to, note: f"{by} did it.",
    Act.CANNOT: lambda by, to, note: f"{by} said that it cannot be done{_told(note)}",
}

"""Inviting many at once from a list: every line is looked at by itself and reported by its number.

A line is an address, a name and an address, or ``Name <address>``. Names and addresses are kept
apart by commas, semicolons or tabs, as tables write them; a line of column heads is passed over.
"""

import csv
import re
from dataclasses import dataclass, field
from datetime import datetime

from django.db import transaction

from lifecycle.models import Invitation, Membership, Role
from lifecycle.permissions import require
from lifecycle.records.crops.beginnings import plain_name
from lifecycle.records.people import audit
from lifecycle.records.people.addresses import plain_address
from lifecycle.records.people.invitation_letters import take_letter, write_letter
from lifecycle.records.people.invitations import why_not_invite, write_invitation
from lifecycle.records.people.memberships import hold_garden
from lifecycle.records.refusal import Refused

MOST_ROWS = 200
SEEN_LENGTH = 80
_ANGLED = re.compile(r"\s*\"?([^<>\"]*?)\"?\s*<([^<>]*)>\s*[,;]?\s*")
_HEADS = frozenset(
    ("name", "names", "full name", "first name", "last name", "e-mail", "email", "mail")
) | {"address", "e-mail address", "email address", "mail address", "addresses", "emails"}


@dataclass(frozen=True, slots=True)
class Row:
    """One line that names somebody: its number, its text, and what was read from it."""

    number: int
    text: str
    name: str
    address: str


@dataclass(frozen=True, slots=True)
class Problem:
    """One line that led to no invitation: what was seen, what is wrong, what to type instead.

    ``mend`` is the line to be typed again; "" where it is to be left out.
    """

    number: int
    seen: str
    wrong: str
    instead: str
    mend: str = ""


@dataclass(slots=True)
class Report:
    """What came of a list."""

    invited: list[Invitation] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)

    @property
    def to_mend(self) -> str:
        """The lines that need another hand, as they were typed."""
        return "\n".join(each.mend for each in self.problems if each.mend)


def invite_list(actor: Membership, text: str, *, now: datetime) -> Report:
    """Invite everybody of a list as a member; lines that cannot be read come back in the report.

    All that can be invited are, in one transaction. Raises Refused for a list without a line and
    for one of more than ``MOST_ROWS``: then nobody is invited.
    """
    require(actor, "people.invite")
    lines = _lines(text)
    if not lines:
        raise Refused("Write a line for everybody who is to be invited.", "people")
    if len(lines) > MOST_ROWS:
        raise Refused(
            f"The list has {len(lines)} lines; {MOST_ROWS} is the most at once. Nobody is invited "
            "yet. Send it in parts.",
            "people",
        )
    report = Report()
    seen: dict[str, int] = {}
    with transaction.atomic():
        hold_garden(actor.garden_id)
        for number, line in lines:
            read = _read(number, line)
            if isinstance(read, Row):
                _invite_row(actor, read, seen, report, now)
            else:
                report.problems.append(read)
        if report.invited:
            numbers = [invitation.pk for invitation in report.invited]
            audit.note(actor, "invited", now=now, invitations=numbers, role=Role.MEMBER.value)
    return report


def _invite_row(
    actor: Membership, row: Row, seen: dict[str, int], report: Report, now: datetime
) -> None:
    shown = _shown(row.text)
    if (before := seen.get(row.address)) is not None:
        report.problems.append(
            Problem(
                row.number, shown, f"The same address stands in line {before}.", "Leave it out."
            )
        )
        return
    seen[row.address] = row.number
    if why := why_not_invite(actor.garden_id, row.address, now):
        instead = "Leave it out."
        report.problems.append(Problem(row.number, shown, why, instead))
        return
    try:
        take_letter(actor.garden_id, row.address, now)
    except Refused as refusal:
        report.problems.append(
            Problem(row.number, shown, str(refusal), "Leave it here until then.", row.text)
        )
        return
    invitation = write_invitation(
        actor.garden,
        email=row.address,
        name=row.name,
        role=Role.MEMBER,
        made_by=actor.person,
        now=now,
    )
    write_letter(invitation, now, by_name=True)
    report.invited.append(invitation)


def _lines(text: str) -> list[tuple[int, str]]:
    """Return the lines that hold something, numbered as they were typed, without column heads."""
    found = [
        (number, line.strip())
        for number, line in enumerate(text.removeprefix("\ufeff").splitlines(), 1)
        if line.strip(' \t,;"')
    ]
    if found and _is_heads(found[0][1]):
        del found[0]
    return found


def _is_heads(line: str) -> bool:
    return "@" not in line and all(cell.lower() in _HEADS for cell in _cells(line))


def _cells(line: str) -> list[str]:
    """Return what stands between tabs, semicolons or commas, quotes taken off."""
    sign = next((each for each in "\t;" if each in line), ",")
    try:
        cells = next(csv.reader([line], delimiter=sign, skipinitialspace=True), [])
    except csv.Error:
        cells = [line]
    return [cell for each in cells if (cell := " ".join(each.split()))]


def _read(number: int, line: str) -> Row | Problem:
    """Return who a line names, or what is wrong with it."""
    if angled := _ANGLED.fullmatch(line):
        names, addresses = [angled[1]] if angled[1] else [], [angled[2]]
    else:
        cells = _cells(line)
        addresses = [cell for cell in cells if "@" in cell]
        names = [cell for cell in cells if "@" not in cell]
    shown = _shown(line)
    if not addresses:
        wrong, instead = "No address stands here.", "Add one, such as Anna, anna@example.org."
    elif len(addresses) > 1:
        wrong, instead = "Several addresses stand here.", "Put each in a line of its own."
    elif len(names) > 1:
        wrong = "More than a name and an address stand here."
        instead = f"Write it as {_shown(' '.join(names))}, {_shown(addresses[0])}."
    else:
        return _checked(number, line, names[0] if names else "", addresses[0])
    return Problem(number, shown, wrong, instead, line)


def _checked(number: int, line: str, name: str, address: str) -> Row | Problem:
    try:
        kept = plain_address(address)
    except Refused:
        wrong = f"“{_shown(address)}” is not an e-mail address."
        instead = "Type it whole and without spaces, such as anna@example.org."
        return Problem(number, _shown(line), wrong, instead, line)
    try:
        return Row(number, line, plain_name(name, "person") if name else "", kept)
    except Refused as refusal:
        return Problem(
            number, _shown(line), str(refusal), "Write the name another way, or leave it out.", line
        )


def _shown(text: str) -> str:
    return text if len(text) <= SEEN_LENGTH else f"{text[: SEEN_LENGTH - 1]}…"

"""Keys and tools that are shared: what there is, who takes one out, and who brings it back."""

from datetime import datetime

from django.db import IntegrityError, transaction
from django.db.models import QuerySet

from lifecycle.care.wording import short_date
from lifecycle.models import Membership, Person, Site, Tool, ToolLoan
from lifecycle.permissions import can, require
from lifecycle.records.refusal import Refused

NAME_LENGTH, KEPT_LENGTH, NOTE_LENGTH = 60, 80, 200


def add_tool(
    actor: Membership, site: Site, *, kind: str, name: str, kept_in: str, note: str
) -> Tool:
    """Put a tool or a key on a site's list. Raises Refused for a name that is on it already."""
    require(actor, "tool.edit")
    if site.garden_id != actor.garden_id:
        raise Refused("That site does not belong to this garden. Choose one of its sites.", "site")
    columns = _checked(kind, name, kept_in, note)
    return _named(Tool(garden_id=actor.garden_id, site=site, **columns))


def edit_tool(
    actor: Membership, tool: Tool, *, kind: str, name: str, kept_in: str, note: str
) -> Tool:
    """Change what a tool is called, where it is kept, and what is said of it."""
    require(actor, "tool.edit")
    columns = _checked(kind, name, kept_in, note)
    with transaction.atomic():
        row = _locked(actor, tool)
        for column, value in columns.items():
            setattr(row, column, value)
        return _named(row, list(columns))


def retire_tool(actor: Membership, tool: Tool, *, now: datetime) -> Tool:
    """Take a tool off the list: worn out, lost or given away. Its loans stay on record.

    Raises Refused while somebody has it. Retiring twice is one retiring.
    """
    require(actor, "tool.edit")
    with transaction.atomic():
        row = _locked(actor, tool)
        loan = out_now(row)
        if loan is not None:
            raise Refused(f"{loan.person} has {row} still. Bring it back first.")
        if row.gone_on is None:
            row.gone_on = row.site.local_day(now)
            row.save(update_fields=["gone_on"])
    return row


def take_out(actor: Membership, tool: Tool, *, now: datetime) -> ToolLoan:
    """Take a tool or a key out. Who has it already has it once.

    Raises Refused with the name of whoever has it, or when it is gone.
    """
    require(actor, "tool.borrow")
    with transaction.atomic():
        row = _locked(actor, tool)
        if row.gone_on is not None:
            raise Refused(f"{row} is not on the list any more.")
        loan = out_now(row)
        if loan is not None and loan.person_id == actor.person_id:
            return loan
        if loan is not None:
            since = short_date(row.site.local_day(loan.out_at), row.site.local_day(now))
            raise Refused(f"{loan.person} has {row} since {since}. Ask them for it.")
        return ToolLoan.objects.create(
            garden_id=row.garden_id, tool=row, person=actor.person, out_at=now
        )


def bring_back(actor: Membership, loan: ToolLoan, *, now: datetime) -> ToolLoan:
    """Set down that a tool is back: by whoever has it, or by who keeps the list.

    Bringing it back twice is once.
    """
    if loan.garden_id != actor.garden_id:
        raise Refused("That does not belong to this garden.")
    own = loan.person_id == actor.person_id and can(actor, "tool.borrow")
    if not own:
        require(actor, "tool.edit")
    with transaction.atomic():
        row = ToolLoan.objects.select_for_update(of=("self",)).get(pk=loan.pk)
        if row.back_at is None:
            row.back_at = max(now, row.out_at)
            row.save(update_fields=["back_at"])
    return row


def out_now(tool: Tool) -> ToolLoan | None:
    """Return who has the tool, or None while it is in its place."""
    return ToolLoan.objects.filter(tool=tool, back_at__isnull=True).select_related("person").first()


def out_with(person: Person, garden_id: int) -> QuerySet[ToolLoan]:
    """Return what a person has out of a garden's tools and keys, by name."""
    loans = ToolLoan.objects.filter(garden=garden_id, person=person, back_at__isnull=True)
    return loans.select_related("tool__site").order_by("tool__name", "pk")


def _locked(actor: Membership, tool: Tool) -> Tool:
    if tool.garden_id != actor.garden_id:
        raise Refused("That does not belong to this garden.")
    return Tool.objects.select_for_update(of=("self",)).select_related("site").get(pk=tool.pk)


def _named(tool: Tool, columns: list[str] | None = None) -> Tool:
    """Save a tool whose name must be the only one of its site."""
    try:
        with transaction.atomic():
            tool.save(update_fields=columns, force_insert=columns is None)
    except IntegrityError:
        raise Refused(
            f"“{tool.name}” is on the list of {tool.site} already. Give another name, such as "
            "one with a number.",
            "name",
        ) from None
    return tool


def _checked(kind: str, name: str, kept_in: str, note: str) -> dict[str, str]:
    if kind not in Tool.Kind.values:
        raise Refused("Choose whether it is a tool or a key.", "kind")
    given = {
        "name": _plain(name, "Name", NAME_LENGTH, "name"),
        "kept_in": _plain(kept_in, "Where it is kept", KEPT_LENGTH, "kept_in"),
        "note": _plain(note, "Note", NOTE_LENGTH, "note"),
    }
    if not given["name"]:
        raise Refused("Say what it is called.", "name")
    return {"kind": kind, **given}


def _plain(text: str, label: str, longest: int, field: str) -> str:
    plain = " ".join(text.replace("\x00", " ").split())
    if len(plain) > longest:
        raise Refused(f"{label}: keep it to {longest} characters (it has {len(plain)}).", field)
    return plain

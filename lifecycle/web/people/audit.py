"""Who changed or looked at what only a few may: the garden's audit, newest first."""

from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_safe

from lifecycle.models import AuditNote, Role, Site
from lifecycle.records.people import audit
from lifecycle.web.door import enter, first_site, garden_day, number_in, page, rows
from lifecycle.web.people.sure import sure
from lifecycle.web.words import day_words

PER_PAGE = 50


@dataclass(frozen=True, slots=True)
class Shown:
    """One note as the table shows it."""

    when: str
    who: str
    act: str
    about: str
    detail: str


@sure
@require_safe
def audit_page(request: HttpRequest, slug: str) -> HttpResponse:
    """Show the audit by date, all of it or one act; looking at it is noted too."""
    member = enter(request, slug, "audit.read")
    now = timezone.now()
    audit.note_once_a_day(member, "audit_seen", now=now)
    act = request.GET.get("act", "")
    chosen = act if act in audit.ACTS else ""
    found = rows(AuditNote, member).select_related("by", "about").order_by("-at", "-pk")
    if chosen:
        found = found.filter(act=chosen)
    shown = Paginator(found, PER_PAGE).get_page(number_in(request, "page") or 1)
    site = first_site(member.garden)
    context = {
        "shown": shown,
        "notes": [_shown(note, site, now) for note in shown],
        "acts": audit.ACTS,
        "chosen": chosen,
    }
    return page(request, "audit.html", context)


def _shown(note: AuditNote, site: Site | None, now: datetime) -> Shown:
    zone = ZoneInfo(site.time_zone if site is not None else "UTC")
    day = day_words(garden_day(site, note.at), garden_day(site, now))
    return Shown(
        when=f"{day}, {note.at.astimezone(zone):%H:%M}",
        who=str(note.by) if note.by else "the site itself",
        act=audit.ACTS.get(note.act, note.act),
        about=str(note.about) if note.about else "",
        detail=_detail(note),
    )


_WORDS = {
    "name": "name",
    "joining": "how people join",
    "waiver": "waiver",
    "safety": "safety notice",
    "hours_ledger": "hours ledger",
}


def _detail(note: AuditNote) -> str:
    """Return what a note holds beside who and whom: roles, what changed, which year."""
    detail = note.detail
    if "was" in detail and "role" in detail:
        return f"from {_role(detail['was'])} to {_role(detail['role'])}"
    parts = []
    if "changed" in detail:
        parts.append(", ".join(_WORDS.get(key, str(key)) for key in detail["changed"]))
    if "invitations" in detail:
        parts.append(f"{len(detail['invitations'])} from a list")
    if "role" in detail:
        parts.append(f"as {_role(detail['role'])}")
    if detail.get("again"):
        parts.append("sent again")
    if detail.get("bed_given") is False:
        parts.append("the bed of the invitation could not be given")
    if "year" in detail:
        parts.append(str(detail["year"]))
    return "; ".join(parts)


def _role(value: str) -> str:
    return Role(value).label.lower() if value in Role.values else str(value)

"""The week's work: shared out as drafts, by hand or by a fair proposal, and published once."""

from collections.abc import Callable, Iterable
from datetime import UTC, datetime

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from lifecycle.models import Membership, Person, Publication
from lifecycle.records.refusal import Refused
from lifecycle.records.work.week import draft, drop, propose
from lifecycle.records.work.week_publishing import Published
from lifecycle.records.work.week_work import Piece, Week, week_of
from lifecycle.reminders.work.publishing import publish_and_tell
from lifecycle.web.door import attempt, enter, number_in, page, rows
from lifecycle.web.forms.week import GivePiecesForm, PiecesForm
from lifecycle.web.words import counted
from lifecycle.web.work.week_rota import rota_of
from lifecycle.web.work.week_rows import week_page

Act = Callable[[HttpRequest, Membership, PiecesForm, datetime], HttpResponse | None]

SINCE_CHANGED = "All of it was done, taken or withdrawn meanwhile. Look through the list again."


@require_http_methods(["GET", "HEAD", "POST"])
def week(request: HttpRequest, slug: str) -> HttpResponse:
    """Show the week's work and who has it; draft, propose, take back, publish."""
    member = enter(request, slug, "week.publish")
    now = timezone.now()
    form: PiecesForm = GivePiecesForm(member)
    if request.method == "POST":
        act = request.POST.get("act", "")
        form = GivePiecesForm(member, request.POST) if act == "give" else PiecesForm(request.POST)
        if form.is_valid():
            answer = _ACTS.get(act, _not_understood)(request, member, form, now)
            if answer is not None:
                return answer
    return _shown(request, member, form, now)


def _shown(
    request: HttpRequest,
    member: Membership,
    form: PiecesForm,
    now: datetime,
    published: Published | None = None,
) -> HttpResponse:
    found = week_of(member.garden, now=now)
    ticked = set(form.cleaned_data.get("piece", ())) if form.is_bound and form.errors else set()
    choosing = form if isinstance(form, GivePiecesForm) else GivePiecesForm(member)
    context = {
        "week": week_page(
            found,
            request.GET.get("pick", ""),
            ticked,
            explain=_explains(request),
            utc_day=now.astimezone(UTC).date(),
        ),
        "form": choosing,
        "bad_form": form if form.errors else None,
        "said": _said(request),
        "published": published,
        "latest": rows(Publication, member).select_related("by").first(),
        "today": found.first_day,
    }
    return page(request, "week.html", context)


def _explains(request: HttpRequest) -> bool:
    return "proposed" in request.GET


def _said(request: HttpRequest) -> str:
    """Return what the last act did, as its redirect tells."""
    drafted, taken_back = number_in(request, "drafted", 0), number_in(request, "back", 0)
    left_over = number_in(request, "changed", 1)
    if drafted is not None:
        more = f" {counted(left_over, 'thing')} changed meanwhile." if left_over else ""
        return f"{counted(drafted, 'task')} drafted. Nobody is told before you publish.{more}"
    if taken_back is not None:
        return f"{counted(taken_back, 'draft')} taken back."
    return ""


def _give(
    request: HttpRequest, member: Membership, form: PiecesForm, now: datetime
) -> HttpResponse | None:
    return _draft(member, form, form.cleaned_data["to"], now)


def _leave(
    request: HttpRequest, member: Membership, form: PiecesForm, now: datetime
) -> HttpResponse | None:
    return _draft(member, form, None, now)


def _draft(
    member: Membership, form: PiecesForm, to: Person | None, now: datetime
) -> HttpResponse | None:
    keys = form.cleaned_data["piece"]
    chosen = week_of(member.garden, now=now).chosen(keys)
    if keys and not chosen:
        form.add_error(None, SINCE_CHANGED)
        return None
    made = attempt(form, lambda: draft(member, _task_ids(chosen), to, now=now))
    return None if made is None else _back(member, drafted=made, changed=len(keys) - len(chosen))


def _as_before(
    request: HttpRequest, member: Membership, form: PiecesForm, now: datetime
) -> HttpResponse | None:
    """Draft each ticked piece for whoever did it last."""
    found = week_of(member.garden, now=now)
    chosen = [each for each in found.chosen(form.cleaned_data["piece"]) if each.before is not None]
    if not chosen:
        form.add_error(None, "Nobody is known who did this before. Tick other work.")
        return None
    made = attempt(form, lambda: _each_to_before(member, found, chosen, now))
    return None if made is None else _back(member, drafted=made)


def _each_to_before(member: Membership, found: Week, chosen: list[Piece], now: datetime) -> int:
    by_person: dict[int, list[Piece]] = {}
    for piece in chosen:
        if piece.before is not None:
            by_person.setdefault(piece.before, []).append(piece)
    return sum(
        draft(member, _task_ids(pieces), found.workers[who].member.person, now=now)
        for who, pieces in by_person.items()
    )


def _take_back(
    request: HttpRequest, member: Membership, form: PiecesForm, now: datetime
) -> HttpResponse | None:
    keys = form.cleaned_data["piece"]
    if not keys:
        return _back(member, back=drop(member))
    return _back(member, back=drop(member, _task_ids(week_of(member.garden, now=now).chosen(keys))))


def _propose(
    request: HttpRequest, member: Membership, form: PiecesForm, now: datetime
) -> HttpResponse | None:
    try:
        shares = propose(member, form.cleaned_data["piece"], now=now)
    except Refused as refusal:
        form.add_error(None, str(refusal))
        return None
    drafted = sum(len(piece.tasks) for piece, _ in shares.given)
    return _back(member, proposed=1, drafted=drafted)


def _publish(
    request: HttpRequest, member: Membership, form: PiecesForm, now: datetime
) -> HttpResponse | None:
    published = publish_and_tell(member, now=now)
    if published.publication is None or published.left_out:
        return _shown(request, member, PiecesForm(), now, published)
    return redirect("publication", member.garden.slug, published.publication.pk)


def _not_understood(
    request: HttpRequest, member: Membership, form: PiecesForm, now: datetime
) -> HttpResponse | None:
    form.add_error(None, "This form was not understood. Load the page again.")
    return None


_ACTS: dict[str, Act] = {
    "give": _give,
    "nobody": _leave,
    "before": _as_before,
    "drop": _take_back,
    "propose": _propose,
    "publish": _publish,
}


def _task_ids(pieces: Iterable[Piece]) -> list[int]:
    return [task.pk for piece in pieces for task in piece.tasks]


def _back(member: Membership, **told: int) -> HttpResponse:
    query = {name: number for name, number in told.items() if number or name != "changed"}
    return redirect(reverse("week", args=[member.garden.slug], query=query, fragment="work"))


@require_safe
def publication(request: HttpRequest, slug: str, pk: int) -> HttpResponse:
    """Show a published week as a rota to print: who does what, where and by when."""
    member = enter(request, slug)
    found = get_object_or_404(rows(Publication, member).select_related("by"), pk=pk)
    context = {"publication": found, "rota": rota_of(found), "site": found.garden.sites.first()}
    return page(request, "week_rota.html", context)

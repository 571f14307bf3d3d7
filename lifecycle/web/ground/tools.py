"""Keys and tools: where they are, who has them, and the list itself."""

from collections.abc import Sequence

from django.db.models import Prefetch
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from lifecycle.models import Membership, Tool, ToolLoan
from lifecycle.permissions import can, require
from lifecycle.records.ground.shed import add_tool, bring_back, edit_tool, retire_tool, take_out
from lifecycle.records.refusal import Refused
from lifecycle.web.door import attempt, enter, first_site, garden_day, page, refused_page, rows
from lifecycle.web.forms.shed import NewToolForm, ToolForm

LOANS_SHOWN = 30
_COLUMNS = ("kind", "name", "kept_in", "note")


@require_http_methods(["GET", "HEAD", "POST"])
def tools(request: HttpRequest, slug: str) -> HttpResponse:
    """List the keys and tools with who has each, and add one."""
    member = enter(request, slug, "garden.read" if request.method != "POST" else "tool.edit")
    now = timezone.now()
    form = NewToolForm(member, request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        made = attempt(form, lambda: add_tool(member, **form.cleaned_data))
        if made is not None:
            return redirect(f"{request.path}?saved=1")
    out = ToolLoan.objects.filter(back_at__isnull=True).select_related("person")
    listed = list(
        rows(Tool, member)
        .filter(gone_on__isnull=True)
        .select_related("site")
        .prefetch_related(Prefetch("loans", out, to_attr="out"))
    )
    context = {
        "heading": _heading(listed, member),
        "keys": [tool for tool in listed if tool.kind == Tool.Kind.KEY],
        "tools": [tool for tool in listed if tool.kind == Tool.Kind.TOOL],
        "several_sites": len({tool.site_id for tool in listed}) > 1,
        "own": member.person_id,
        "today": garden_day(first_site(member.garden), now),
        "form": form if can(member, "tool.edit") else None,
        "bad_form": form if form.errors else None,
        "saved": request.GET.get("saved") == "1",
    }
    return page(request, "tools.html", context)


def _heading(listed: Sequence[Tool], member: Membership) -> str:
    held = sum(
        loan.person_id == member.person_id for tool in listed for loan in getattr(tool, "out", [])
    )
    if not listed:
        return "No keys or tools are on the list yet"
    if held:
        return f"Keys and tools: you have {held} of {len(listed)}"
    return "Keys and tools"


@require_http_methods(["GET", "HEAD", "POST"])
def tool(request: HttpRequest, slug: str, pk: int) -> HttpResponse:
    """Show a tool with its loans; take it out, bring it back, change or retire it."""
    member = enter(request, slug)
    found = get_object_or_404(rows(Tool, member).select_related("site"), pk=pk)
    act = request.POST.get("act", "") if request.method == "POST" else ""
    if act in ("take", "back", "retire"):
        return _act(request, member, found, act)
    if request.method == "POST":
        require(member, "tool.edit")
    form = ToolForm(
        request.POST if request.method == "POST" else None,
        initial={name: getattr(found, name) for name in _COLUMNS},
    )
    if request.method == "POST" and form.is_valid():
        made = attempt(form, lambda: edit_tool(member, found, **form.cleaned_data))
        if made is not None:
            return redirect(f"{request.path}?saved=1")
    loans = list(
        rows(ToolLoan, member).filter(tool=found).select_related("person")[: LOANS_SHOWN + 1]
    )
    context = {
        "tool": found,
        "out": next((loan for loan in loans if loan.back_at is None), None),
        "loans": loans[:LOANS_SHOWN],
        "more": len(loans) > LOANS_SHOWN,
        "shown": LOANS_SHOWN,
        "own": member.person_id,
        "today": found.site.local_day(timezone.now()),
        "form": form if can(member, "tool.edit") and found.gone_on is None else None,
        "bad_form": form if form.errors else None,
        "saved": request.GET.get("saved") == "1",
    }
    return page(request, "tool.html", context)


def _act(request: HttpRequest, member: Membership, found: Tool, act: str) -> HttpResponse:
    """Run what a button asked for; a refusal says who has it."""
    now = timezone.now()
    back = reverse("tool", args=[member.garden.slug, found.pk])
    try:
        if act == "take":
            take_out(member, found, now=now)
        elif act == "retire":
            retire_tool(member, found, now=now)
            return redirect("tools", member.garden.slug)
        else:
            _bring_back(member, found)
    except Refused as refusal:
        return refused_page(request, str(refusal), back=back, back_label=str(found))
    if request.POST.get("from") == "list":
        return redirect("tools", member.garden.slug)
    return redirect(back)


def _bring_back(member: Membership, found: Tool) -> None:
    loan = rows(ToolLoan, member).filter(tool=found, back_at__isnull=True).first()
    if loan is None:
        # Whoever brought it back a moment before did the same.
        require(member, "tool.borrow")
        return
    bring_back(member, loan, now=timezone.now())

"""Tasks: whose they are, what each asks, and how it is closed."""

from typing import Any
from uuid import UUID

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from lifecycle.care.catalogue import STEP_RULES, StepRule
from lifecycle.care.closing_windows import closing_low_of
from lifecycle.handbook import CAUTIONS
from lifecycle.life.kinds import Kind, rule_for
from lifecycle.models import Membership, Person, Task
from lifecycle.permissions import can, require
from lifecycle.records import ledger
from lifecycle.records.entries import complete
from lifecycle.records.refusal import Refused
from lifecycle.records.tasks import assign, cannot_do
from lifecycle.web.buttons import act_id
from lifecycle.web.door import (
    after_write,
    attempt,
    enter,
    first_site,
    garden_day,
    number_in,
    page,
    record_url,
    refused_page,
    rows,
    task_or_404,
    way_back,
)
from lifecycle.web.forms.entries import EntryForm
from lifecycle.web.forms.gardens import CannotForm, GiveForm
from lifecycle.web.groups import MINE, NOBODY, OTHERS, do_group, grouped, in_group, minded
from lifecycle.web.records import Record, form_number, saved_several
from lifecycle.web.words import due_words

DONE_SHOWN, PAGE_OF = 20, 50
# Steps that make other records, or need more than one entry: they have pages of their own.
_PAGES = {
    "pot_up": ("pot-up", "Pot up"),
    "take_cutting": ("cuttings", "Take cuttings"),
    "backup": ("seed", "Save its seed"),
    "settle_identity": ("settle", "Settle which plant this is"),
    "seed_test": ("seeds", "Test the lot"),
}


@require_http_methods(["GET", "HEAD", "POST"])
def tasks(request: HttpRequest, slug: str) -> HttpResponse:
    """List the work by group, or the tasks of one group; a POST does a group at once."""
    member = enter(request, slug)
    if request.method == "POST":
        return _do_group(request, member)
    now = timezone.now()
    today = garden_day(first_site(member.garden), now)
    if request.GET.get("kind") in STEP_RULES:
        return _one_group(request, member, today)
    groups = grouped(minded(member), today)
    mine = [group for group in groups if group.whose == MINE]
    done = (
        rows(Task, member)
        .filter(state__in=[Task.State.DONE, Task.State.CANNOT])
        .select_related("plant", "sowing__variety", "closed_by", "site")
        .order_by("-closed_at", "-pk")[:DONE_SHOWN]
    )
    context = {
        "now_due": [group for group in mine if group.earliest <= today],
        "later": [group for group in mine if group.earliest > today],
        "unclaimed": [group for group in groups if group.whose == NOBODY],
        "others": [group for group in groups if group.whose == OTHERS],
        "done": list(done),
        "today": today,
        "saved": saved_several(request, member),
        "form_id": form_number(),
        "back": "tasks",
        "group_whose": MINE,
    }
    return page(request, "tasks.html", context)


def _one_group(request: HttpRequest, member: Membership, today: Any) -> HttpResponse:
    kind = request.GET["kind"]
    whose = number_in(request, "whose", 0, 2)
    found = in_group(member, kind, number_in(request, "place"), whose)
    shown = Paginator(found, PAGE_OF).get_page(number_in(request, "page") or 1)
    listed = [
        (task, task.plant or task.sowing, due_words(task.best, task.latest, today))
        for task in shown
    ]
    context = {"kind": kind, "shown": shown, "listed": listed, "today": today}
    return page(request, "task_group.html", context)


def _do_group(request: HttpRequest, member: Membership) -> HttpResponse:
    """Log what does all open tasks of a group that are due."""
    require(member, "task.do")
    now = timezone.now()
    slug = member.garden.slug
    back, back_label = way_back(request.POST.get("back", ""), slug)
    kind = request.POST.get("kind", "")
    place, whose = _whole(request.POST.get("place")), _whole(request.POST.get("whose"))
    rule = STEP_RULES.get(kind)
    try:
        form_id = UUID(request.POST.get("uuid", ""))
    except ValueError:
        form_id = None
    if rule is None or not rule.one_tap or form_id is None:
        sentence = "This form was not understood. Load the page again."
        return refused_page(request, sentence, back=back, back_label=back_label)
    today = garden_day(first_site(member.garden), now)
    due = list(in_group(member, kind, place, whose).filter(earliest__lte=today))
    if not due:
        return redirect(f"{back}?nothing=1")
    try:
        logged = do_group(member, due, form_id, today, now)
    except Refused as refusal:
        return refused_page(request, str(refusal), back=back, back_label=back_label)
    return redirect(f"{back}?saved={logged[0].entry.pk}")


def _whole(text: str | None) -> int | None:
    return int(text) if text and text.isascii() and text.isdigit() and len(text) < 10 else None


@require_http_methods(["GET", "HEAD", "POST"])
def task(request: HttpRequest, slug: str, pk: int) -> HttpResponse:
    """Show one task; done, cannot do, take, give."""
    member = enter(request, slug, "garden.read" if request.method != "POST" else "task.do")
    found = task_or_404(member, pk)
    now = timezone.now()
    record = found.plant or found.sowing
    assert record is not None
    rule = STEP_RULES[found.kind]
    act = request.POST.get("act") if request.method == "POST" else None
    doing = _done_form(request, member, record, rule, act, now)
    cannot = CannotForm(request.POST if act == "cannot" else None, prefix="cannot")
    giving = GiveForm(
        member,
        request.POST if act == "give" else None,
        prefix="give",
        initial={"to": found.assignee_id},
    )
    if act is not None:
        answer = _act(request, member, found, record, act, doing, cannot, giving, now)
        if answer is not None:
            return answer
    today = record.site.local_day(now)
    context = {
        "task": found,
        "record": record,
        "record_url": record_url(record, slug),
        "rule": rule,
        "cautions": [CAUTIONS[key] for key in rule.cautions],
        "today": today,
        "due": due_words(found.best, found.latest, today),
        "closing_c": closing_low_of(found.kind, record.variety.species),
        "doing": doing,
        "own_page": _own_page(found.kind, record, slug),
        "cannot": cannot,
        "giving": giving if can(member, "task.assign") else None,
        "bad_form": next((form for form in (doing, cannot, giving) if form.errors), None),
        "is_open": found.state == Task.State.OPEN,
        "mine": found.assignee_id == member.person_id,
    }
    return page(request, "task.html", context)


def _own_page(kind: str, record: Record, slug: str) -> tuple[str, str] | None:
    if kind not in _PAGES:
        return None
    name, words = _PAGES[kind]
    # A test is of a lot, not of the one sowing that asks for it.
    where = [slug] if name == "seeds" else [slug, record.code]
    return reverse(name, args=where), words


def _done_form(
    request: HttpRequest,
    member: Membership,
    record: Record,
    rule: StepRule,
    act: str | None,
    now: Any,
) -> EntryForm:
    kind_rule = rule_for(Kind(rule.done_by), ledger.subject_of(record))
    data = request.POST if act == "done" else None
    today = record.site.local_day(now)
    return EntryForm(kind_rule, member, today, data, initial={"choice": rule.choice})


def _act(
    request: HttpRequest,
    member: Membership,
    found: Task,
    record: Record,
    act: str,
    doing: EntryForm,
    cannot: CannotForm,
    giving: GiveForm,
    now: Any,
) -> HttpResponse | None:
    """Do what was asked; None shows the page again with what is wrong."""
    slug = member.garden.slug
    if act == "done" and doing.is_valid() and doing.rule.by_hand:
        entry_id = act_id(doing.cleaned_data["uuid"], record.code, doing.rule.kind)
        logged = attempt(
            doing, lambda: complete(member, found, record, doing.draft(entry_id), now=now)
        )
        if logged is not None:
            after_write([record], now)
            return redirect(record_url(record, slug, saved=logged.entry.pk))
    if act == "cannot" and cannot.is_valid():
        why = cannot.cleaned_data["why"]
        attempt(cannot, lambda: cannot_do(member, found, why, now=now))
        return None if cannot.errors else redirect("tasks", slug)
    if act == "give" and giving.is_valid():
        to = giving.cleaned_data["to"]
        attempt(giving, lambda: assign(member, found, to))
        return None if giving.errors else redirect("task", slug, found.pk)
    if act in ("take", "give_back"):
        return _take(request, member, found, member.person if act == "take" else None)
    return None


def _take(request: HttpRequest, member: Membership, found: Task, to: Person | None) -> HttpResponse:
    """Take a task for oneself, or give it back."""
    slug = member.garden.slug
    try:
        assign(member, found, to)
    except Refused as refusal:
        here = reverse("task", args=[slug, found.pk])
        return refused_page(request, str(refusal), back=here, back_label="the task")
    return redirect("task", slug, found.pk)

"""What a person may do on a task's page, one act a form."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID, uuid4

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from lifecycle.models import Membership, Person, Task
from lifecycle.permissions import can, require
from lifecycle.records.crops.entries import complete
from lifecycle.records.refusal import Refused
from lifecycle.records.work.doing import do_tasks
from lifecycle.records.work.minding import record_of
from lifecycle.records.work.offers import offer
from lifecycle.records.work.tasks import cannot_do, decline, give, give_back, reopen, take
from lifecycle.reminders.work.offer_words import tell_offer
from lifecycle.web.crops.buttons import act_id
from lifecycle.web.door import after_write, attempt, record_url, refused_page
from lifecycle.web.forms.choices import workers_of
from lifecycle.web.forms.entries import EntryForm
from lifecycle.web.forms.tasks import CannotForm, DeclineForm, GiveForm, OfferForm, SwapForm


@dataclass(slots=True)
class TaskForms:
    """The forms of a task's page. ``doing`` None: a chore, or a step with a page of its own."""

    doing: EntryForm | None
    cannot: CannotForm
    declining: DeclineForm
    giving: GiveForm | None
    offering: OfferForm
    swapping: SwapForm | None
    other: Person | None

    @property
    def bad(self) -> forms.Form | None:
        """The form that was refused, if one was."""
        found = (self.doing, self.cannot, self.declining, self.giving)
        listed = (*found, self.offering, self.swapping)
        return next((form for form in listed if form is not None and form.errors), None)


def forms_of(
    request: HttpRequest, member: Membership, task: Task, doing: EntryForm | None
) -> TaskForms:
    """Return the forms of a page, the one that was sent filled in."""
    act = request.POST.get("act") if request.method == "POST" else None

    def sent(name: str) -> Any:
        return request.POST if act == name else None

    seen = {"seen": task.assignee_id or 0, "to": task.assignee_id}
    leads = can(member, "task.assign")
    other = _other(request, member)
    return TaskForms(
        doing=doing,
        cannot=CannotForm(sent("cannot"), prefix="cannot"),
        declining=DeclineForm(sent("decline"), prefix="decline"),
        giving=GiveForm(member, sent("give"), prefix="give", initial=seen) if leads else None,
        offering=OfferForm(
            member, request.POST if act in ("offer", "swap") else None, prefix="offer"
        ),
        swapping=SwapForm(member, other, task, sent("offer_swap"), prefix="swap")
        if other
        else None,
        other=other,
    )


def _other(request: HttpRequest, member: Membership) -> Person | None:
    """Return the member named in the address with whom to swap."""
    text = request.GET.get("with", "")
    if not (text.isascii() and text.isdigit() and len(text) < 10):
        return None
    return workers_of(member).exclude(pk=member.person_id).filter(pk=int(text)).first()


def act_on(
    request: HttpRequest, member: Membership, task: Task, made: TaskForms, now: datetime
) -> HttpResponse | None:
    """Do what was asked; None shows the page again with what is wrong."""
    act = request.POST.get("act", "")
    if act == "give":
        require(member, "task.assign")
    here = redirect("task", member.garden.slug, task.pk)
    plain: dict[str, Callable[[], object]] = {
        "take": lambda: take(member, task, now=now),
        "give_back": lambda: give_back(member, task, now=now),
        "reopen": lambda: reopen(member, task, now=now),
    }
    if act in plain:
        return _plainly(request, member, task, plain[act], here, now)
    if act == "done":
        return _done(request, member, task, made, now)
    if act == "swap" and made.offering.is_valid():
        there = reverse("task", args=[member.garden.slug, task.pk])
        return redirect(f"{there}?with={made.offering.cleaned_data['to'].pk}#swap")
    found = _with_form(member, task, made, now).get(act)
    if found is None:
        return None
    form, verb = found
    if form is None or not form.is_valid():
        return None
    attempt(form, verb)
    if form.errors:
        return None
    return redirect("tasks", member.garden.slug) if act == "cannot" else here


def _with_form(
    member: Membership, task: Task, made: TaskForms, now: datetime
) -> dict[str, tuple[forms.Form | None, Callable[[], object]]]:
    """Return the acts that take a form, each with its form and its verb."""

    def typed(form: forms.Form | None, name: str) -> Any:
        return form.cleaned_data[name] if form is not None else None

    def given() -> object:
        assert made.giving is not None
        to = typed(made.giving, "to")
        return give(member, task, to, now=now, seen=made.giving.shown())

    def offered(to: Person, for_task: Task | None = None) -> object:
        return tell_offer(offer(member, task, to, for_task=for_task, now=now), now=now)

    return {
        "cannot": (
            made.cannot,
            lambda: cannot_do(member, task, typed(made.cannot, "why"), now=now),
        ),
        "decline": (
            made.declining,
            lambda: decline(member, task, why=typed(made.declining, "why"), now=now),
        ),
        "give": (made.giving, given),
        "offer": (made.offering, lambda: offered(typed(made.offering, "to"))),
        "offer_swap": (
            made.swapping,
            lambda: made.other and offered(made.other, typed(made.swapping, "for_task")),
        ),
    }


def _plainly(
    request: HttpRequest,
    member: Membership,
    task: Task,
    verb: Callable[[], object],
    here: HttpResponse,
    now: datetime,
) -> HttpResponse:
    """Run a verb that takes no form; what was refused has a page of its own."""
    try:
        verb()
    except Refused as refusal:
        back = reverse("task", args=[member.garden.slug, task.pk])
        return refused_page(request, str(refusal), back=back, back_label="the task")
    record = record_of(task)
    if record is not None and request.POST.get("act") == "reopen":
        after_write([record], now)
    return here


def _done(
    request: HttpRequest, member: Membership, task: Task, made: TaskForms, now: datetime
) -> HttpResponse | None:
    """Do the task: a chore by its tap, a step by the entry that was typed."""
    record, doing = record_of(task), made.doing
    slug = member.garden.slug
    if record is None:
        try:
            done = do_tasks(member, [task], form_id=_form_id(request), now=now)
        except Refused as refusal:
            back = reverse("task", args=[slug, task.pk])
            return refused_page(request, str(refusal), back=back, back_label="the task")
        said = f"did={task.pk}" if done.done else f"nothing=1&before={task.pk}"
        return redirect(f"{reverse('tasks', args=[slug])}?{said}")
    if doing is None or not doing.is_valid() or not doing.rule.by_hand:
        return None
    entry_id = act_id(doing.cleaned_data["uuid"], record.code, doing.rule.kind)
    logged = attempt(doing, lambda: complete(member, task, record, doing.draft(entry_id), now=now))
    if logged is None:
        return None
    after_write([record], now)
    return redirect(record_url(record, slug, saved=logged.entry.pk))


def _form_id(request: HttpRequest) -> UUID:
    """Return the form's own id; a chore writes no entry, so any will do."""
    try:
        return UUID(request.POST.get("uuid", ""))
    except ValueError:
        return uuid4()

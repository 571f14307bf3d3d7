"""One task: what it asks, whose it is, how it is done, and all that happened to it."""

from datetime import datetime
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from lifecycle.care.catalogue import STEP_RULES
from lifecycle.care.closing_windows import closing_low_of
from lifecycle.care.skills import SKILLS
from lifecycle.life.kinds import Kind, rule_for
from lifecycle.models import Membership, Task, TaskEvent, TaskOffer
from lifecycle.permissions import can
from lifecycle.records.crops import ledger
from lifecycle.records.people.handing_load import giver_of
from lifecycle.records.work.minding import minder_of, record_of, where_of
from lifecycle.records.work.task_standing import closed_words
from lifecycle.reminders.work.task_words import cautions_of, label_of, subject_of, task_name
from lifecycle.web.crops.records import Record, form_number
from lifecycle.web.door import enter, page, record_url, rows, task_or_404
from lifecycle.web.forms.entries import EntryForm
from lifecycle.web.words import due_words
from lifecycle.web.work.task_acts import act_on, forms_of
from lifecycle.web.work.task_history import history_of

# Steps that make other records, or need more than one entry: they have pages of their own.
_PAGES = {
    "pot_up": ("pot-up", "Pot up"),
    "take_cutting": ("cuttings", "Take cuttings"),
    "backup": ("seed", "Save its seed"),
    "settle_identity": ("settle", "Settle which plant this is"),
    "seed_test": ("seeds", "Test the lot"),
}
_FROM_OTHERS = {TaskEvent.Act.GIVEN, TaskEvent.Act.COVERED, TaskEvent.Act.HANDED_OVER}
_HANDS = [*_FROM_OTHERS, TaskEvent.Act.TAKEN, TaskEvent.Act.SWAPPED]


@require_http_methods(["GET", "HEAD", "POST"])
def task(request: HttpRequest, slug: str, pk: int) -> HttpResponse:
    """Show one task; do it, take it, pass it on, or say that it cannot be done."""
    member = enter(request, slug, "garden.read" if request.method != "POST" else "task.do")
    found = task_or_404(member, pk)
    now = timezone.now()
    made = forms_of(request, member, found, _done_form(request, member, found, now))
    if request.method == "POST":
        answer = act_on(request, member, found, made, now)
        if answer is not None:
            return answer
    today = found.site.local_day(now)
    is_open = found.state == Task.State.OPEN
    mine = found.assignee_id == member.person_id
    context = {
        "task": found,
        "name": task_name(found),
        "label": label_of(found),
        "subject": subject_of(found),
        "place": where_of(found),
        "cautions": cautions_of(found),
        "today": today,
        "due": due_words(found.best, found.latest, today),
        "forms": made,
        "bad_form": made.bad,
        "is_open": is_open,
        "closed": "" if is_open else closed_words(found, now),
        "mine": mine,
        "given": mine and _given_by_others(member, found),
        "minded": minder_of(found) == member.person_id,
        "offer": _open_offer(member, found) if is_open else None,
        "may_reopen": _may_reopen(member, found, now),
        "history": history_of(found, member, now),
        "form_id": form_number(),
        **_of_step(found, slug),
        **_of_chore(found, slug),
    }
    return page(request, "task.html", context)


def _of_step(found: Task, slug: str) -> dict[str, Any]:
    """Return what the page of a step shows beside what all tasks do."""
    record = record_of(found)
    if record is None:
        return {}
    return {
        "record": record,
        "record_url": record_url(record, slug),
        "holder": giver_of(record),
        "rule": STEP_RULES[found.kind],
        "closing_c": closing_low_of(found.kind, record.variety.species),
        "own_page": _own_page(found.kind, record, slug),
    }


def _of_chore(found: Task, slug: str) -> dict[str, Any]:
    """Return what the page of a chore shows beside what all tasks do."""
    chore = found.chore
    if chore is None:
        return {}
    plant = chore.plant
    return {
        "chore": chore,
        "record_url": record_url(plant, slug) if plant else "",
        "holder": giver_of(plant) if plant else None,
        "skill": SKILLS.get(chore.skill, ""),
    }


def _own_page(kind: str, record: Record, slug: str) -> tuple[str, str] | None:
    if kind not in _PAGES:
        return None
    name, words = _PAGES[kind]
    # A test is of a lot, not of the one sowing that asks for it.
    where = [slug] if name == "seeds" else [slug, record.code]
    return reverse(name, args=where), words


def _done_form(
    request: HttpRequest, member: Membership, found: Task, now: datetime
) -> EntryForm | None:
    """Return the form of the entry that does a step; a chore needs none."""
    record = record_of(found)
    if record is None:
        return None
    rule = STEP_RULES[found.kind]
    kind_rule = rule_for(Kind(rule.done_by), ledger.subject_of(record))
    data = request.POST if request.method == "POST" and request.POST.get("act") == "done" else None
    today = record.site.local_day(now)
    return EntryForm(kind_rule, member, today, data, initial={"choice": rule.choice})


def _given_by_others(member: Membership, found: Task) -> bool:
    """Whether the reader has the task because somebody else gave it to them."""
    last = rows(TaskEvent, member).filter(task=found, act__in=_HANDS).order_by("at", "pk").last()
    return last is not None and last.act in _FROM_OTHERS and last.by_id != member.person_id


def _open_offer(member: Membership, found: Task) -> TaskOffer | None:
    waiting = rows(TaskOffer, member).filter(task=found, state=TaskOffer.State.OPEN)
    return waiting.select_related("by", "to").first()


def _may_reopen(member: Membership, found: Task, now: datetime) -> bool:
    """Whether opening it again would be taken from this reader."""
    if not can(member, "task.do") or found.entry_id is not None or found.closed_at is None:
        return False
    if found.closed_by_id != member.person_id and not can(member, "task.assign"):
        return False
    if found.state == Task.State.DONE:
        return found.site.local_day(found.closed_at) == found.site.local_day(now)
    return found.state == Task.State.CANNOT

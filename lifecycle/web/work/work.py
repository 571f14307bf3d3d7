"""Tasks: whose they are, what is due, and what was done lately."""

from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from lifecycle.models import Task, TaskOffer
from lifecycle.records.work.minding import RELATED
from lifecycle.web.crops.records import form_number, saved_several
from lifecycle.web.door import enter, first_site, garden_day, page, rows
from lifecycle.web.work.group_page import do_group, is_group, show_group, undo_chores
from lifecycle.web.work.groups import MINE, NOBODY, OTHERS, grouped, minded

DONE_SHOWN = 20


@require_http_methods(["GET", "HEAD", "POST"])
def tasks(request: HttpRequest, slug: str) -> HttpResponse:
    """List the work by group, or the tasks of one group; a POST does a group, or undoes chores."""
    member = enter(request, slug)
    now = timezone.now()
    today = garden_day(first_site(member.garden), now)
    if request.method == "POST":
        if request.POST.get("act") == "undo":
            return undo_chores(request, member, now)
        return do_group(request, member, today, now)
    if is_group(request):
        return show_group(request, member, today)
    groups = grouped(minded(member), today)
    mine = [group for group in groups if group.whose == MINE]
    done = (
        rows(Task, member)
        .filter(state__in=[Task.State.DONE, Task.State.CANNOT])
        .select_related("closed_by", *RELATED)
        .order_by("-closed_at", "-pk")[:DONE_SHOWN]
    )
    offers = rows(TaskOffer, member).filter(to=member.person, state=TaskOffer.State.OPEN)
    context = {
        "now_due": [group for group in mine if group.earliest <= today],
        "later": [group for group in mine if group.earliest > today],
        "unclaimed": [group for group in groups if group.whose == NOBODY],
        "others": [group for group in groups if group.whose == OTHERS],
        "offers": list(
            offers.select_related("by", *(f"task__{name}" for name in RELATED)).order_by("pk")
        ),
        "done": list(done),
        "today": today,
        "saved": saved_several(request, member),
        "form_id": form_number(),
        "back": "tasks",
        "group_whose": MINE,
    }
    return page(request, "tasks.html", context)

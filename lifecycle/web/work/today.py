"""Today: what is due, what waits for somebody, and where to log something."""

from typing import Any

from django.db.models import Exists, OuterRef, Q, QuerySet, Subquery
from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_safe

from lifecycle.life.phases import Phase
from lifecycle.models import Membership, Place, Plant
from lifecycle.permissions import can
from lifecycle.records.work.minding import RELATED
from lifecycle.web.crops.records import form_number, saved_several
from lifecycle.web.door import enter, first_site, garden_day, page, rows
from lifecycle.web.ground.site_events import notices
from lifecycle.web.nights.frost_today import frost_today
from lifecycle.web.people.settings import unread_count
from lifecycle.web.weather.overnight import overnight
from lifecycle.web.words import counted, long_day
from lifecycle.web.work.groups import MINE, NOBODY, TaskGroup, grouped, minded

BEDS_SHOWN = 30


@require_safe
def today(request: HttpRequest, slug: str) -> HttpResponse:
    """Show the day."""
    member = enter(request, slug)
    now = timezone.now()
    site = first_site(member.garden)
    day = garden_day(site, now)
    open_tasks = minded(member)
    near = grouped(open_tasks.filter(Q(whose=MINE) | Q(whose=NOBODY), earliest__lte=day), day)
    due = [group for group in near if group.whose == MINE]
    waiting = [group for group in near if group.whose == NOBODY]
    next_task = (
        None
        if due
        else open_tasks.filter(whose=MINE, earliest__gt=day)
        .select_related(*RELATED)
        .order_by("earliest", "pk")
        .first()
    )
    beds, all_beds = _beds(member)
    cold = frost_today(member, now)
    context = {
        "heading": f"{long_day(day)}: {'frost tonight, ' if cold.tonight else ''}{_sum_of(due)}",
        "frost": cold.block,
        "overnight": overnight(member, site, now) if site else None,
        "day": day,
        "today": day,
        "due": due,
        "waiting": waiting,
        "nobody": sum(group.number for group in waiting) if can(member, "task.assign") else 0,
        "next_task": next_task,
        "beds": beds,
        "own_beds": not all_beds,
        "site": site,
        "unread": unread_count(member),
        "saved": saved_several(request, member),
        "notices": notices(site, slug, day) if site else [],
        "form_id": form_number(),
        "back": "today",
        "group_whose": MINE,
    }
    return page(request, "today.html", context)


def _sum_of(due: list[TaskGroup]) -> str:
    number = sum(group.number for group in due)
    return f"{counted(number, 'thing')} due" if number else "nothing is due for you"


def _beds(member: Membership) -> tuple[list[Place], bool]:
    """Return the places where the reader holds plants, or all when there are none."""
    own = Plant.objects.filter(place=OuterRef("pk"), holder=member.person).exclude(
        phase=Phase.ENDED
    )
    places = with_last_entry(rows(Place, member)).annotate(own=Exists(own)).select_related("site")
    found = list(places.order_by("-own", "site", "position", "name", "pk")[:BEDS_SHOWN])
    mine = [place for place in found if place.own]
    return mine or found, not mine


def with_last_entry(places: QuerySet[Place]) -> QuerySet[Any]:
    """Add to each place the last entry of a plant that stands there: kind, day and name."""
    last = Plant.objects.filter(place=OuterRef("pk")).order_by("-last_on", "-pk")
    return places.annotate(
        last_kind=Subquery(last.values("last_kind")[:1]),
        last_on=Subquery(last.values("last_on")[:1]),
        last_name=Subquery(last.values("name")[:1]),
    )

"""Today: what is due, what waits for somebody, and where to log something."""

from typing import Any

from django.db.models import (
    BooleanField,
    Exists,
    ExpressionWrapper,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
)
from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_safe

from lifecycle.life.phases import Phase
from lifecycle.models import HandOver, Membership, Place, Plant, TaskOffer
from lifecycle.permissions import can
from lifecycle.records.ground.holdings import beds_held_by
from lifecycle.records.ground.inspections import notices_on
from lifecycle.records.work.minding import RELATED
from lifecycle.web.crops.records import form_number, saved_several
from lifecycle.web.door import enter, first_site, garden_day, page, rows
from lifecycle.web.ground.place_names import place_words
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
    held = beds_held_by(member.person, member.garden_id, day)
    beds, all_beds = _beds(member, held)
    names = place_words([*beds, *held])
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
        "beds": [(place, names[place.pk]) for place in beds],
        "own_beds": not all_beds,
        "to_put_right": [(each, names[each.place_id]) for each in notices_on(held, member.person)],
        "fresh": can(member, "garden.edit") and all_beds and not any(b.last_kind for b in beds),
        **_asked_of(member),
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


def _asked_of(member: Membership) -> dict[str, int]:
    """Return how many hand-overs and offers wait for the reader's answer."""
    passing = rows(HandOver, member).filter(to=member.person, state=HandOver.State.PROPOSED)
    offers = rows(TaskOffer, member).filter(to=member.person, state=TaskOffer.State.OPEN)
    return {"to_take_over": passing.count(), "offered": offers.count()}


def _beds(member: Membership, held: list[Place]) -> tuple[list[Any], bool]:
    """Return the places the reader holds or has plants in, or all when there are none."""
    own = Plant.objects.filter(place=OuterRef("pk"), holder=member.person).exclude(
        phase=Phase.ENDED
    )
    mine_if = Exists(own) | Q(pk__in=[place.pk for place in held])
    places = (
        with_last_entry(rows(Place, member))
        .annotate(own=ExpressionWrapper(mine_if, output_field=BooleanField()))
        .select_related("site")
    )
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

"""The way in: to the reader's garden, or to choose among several, or back to one just left."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from lifecycle.care.wording import short_date
from lifecycle.models import Membership, Person
from lifecycle.records.people.left import open_returns
from lifecycle.web.door import reader


@require_safe
def home(request: HttpRequest) -> HttpResponse:
    """Lead to the reader's garden, or let them choose; say what can still be taken back."""
    now = timezone.now()
    person = Person.objects.get(pk=reader(request).pk)
    members = list(
        Membership.objects.filter(person=person, left_on__isnull=True)
        .select_related("garden")
        .order_by("garden__name", "pk")
    )
    returns = open_returns(person, now)
    erasing = person.erase_after is not None
    if len(members) == 1 and not returns and not erasing:
        return redirect("today", members[0].garden.slug)
    context = {
        "members": members,
        "invented": any(member.garden.invented for member in members),
        "returns": [
            (member, short_date(member.come_back_by.date(), now.date()))
            for member in returns
            if member.come_back_by is not None
        ],
        "erase_on": short_date(person.erase_after.date(), now.date()) if person.erase_after else "",
    }
    return render(request, "lifecycle/home.html", context)

"""What a reader may change about themselves, and everything that has no place in the bar."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_http_methods, require_safe

from lifecycle.models import Membership, Message, Person, Role, Site
from lifecycle.records.messages.message_choices import choices_of
from lifecycle.records.nights.rota import LEADING_ROLES
from lifecycle.records.people.people import set_preferences
from lifecycle.web.door import attempt, enter, page, reader, rows
from lifecycle.web.forms.preferences import PreferencesForm, initial_of
from lifecycle.web.messages import (
    calendar_feed,
    push,
)
from lifecycle.web.messages.preference_words import summary
from lifecycle.web.people import account


@require_http_methods(["GET", "HEAD", "POST"])
def settings(request: HttpRequest) -> HttpResponse:
    """Show and set name, units and messages."""
    person = Person.objects.get(pk=reader(request).pk)
    _stay_in_garden(request, person)
    leads = _leads(person)
    kinds = [kind for kind in Message.Kind if leads or kind != Message.Kind.LEAD]
    wanted = choices_of(person)
    posted = request.POST if request.method == "POST" else None
    form = PreferencesForm(kinds, posted, initial=initial_of(person, wanted))
    if posted is not None and form.is_valid():
        attempt(form, lambda: set_preferences(person, **form.as_preferences()))
        if not form.errors:
            return redirect("/settings?saved=1")
    devices = push.part(person)
    context = {
        "form": form,
        "bad_form": form if form.errors else None,
        "saved": request.GET.get("saved") == "1",
        "person": person,
        "summary": summary(
            wanted,
            day=person.digest_day,
            hour=person.digest_hour,
            devices=bool(devices["devices"]),
            leads=leads,
        ),
        "calendar": calendar_feed.part(person),
        "push": devices,
        "account": account.part(request, person),
    }
    return page(request, "settings.html", context)


def _leads(person: Person) -> bool:
    """Whether the person leads any garden, and so gets what is for coordinators."""
    return Membership.objects.filter(
        person=person, left_on__isnull=True, role__in=LEADING_ROLES
    ).exists()


def _stay_in_garden(request: HttpRequest, person: Person) -> None:
    """Keep the header of the reader's garden, where they have just one."""
    members = Membership.objects.filter(person=person, left_on__isnull=True)
    found = list(members.select_related("garden", "person").order_by("pk"))
    if len(found) == 1:
        request.member = found[0]  # type: ignore[attr-defined]
    request.invented = any(member.garden.invented for member in found)  # type: ignore[attr-defined]


@require_safe
def more(request: HttpRequest, slug: str) -> HttpResponse:
    """List what is not in the bar: messages, sites, adding things, whom to ask."""
    member = enter(request, slug)
    leads = (
        Membership.objects.filter(
            garden=member.garden, left_on__isnull=True, role__in=[Role.COORDINATOR, Role.OWNER]
        )
        .select_related("person")
        .order_by("person__name", "pk")
    )
    context = {
        "sites": list(rows(Site, member).order_by("pk")),
        "leads": list(leads),
        "unread": unread_count(member),
        "role": Role(member.role).label,
    }
    return page(request, "more.html", context)


def unread_count(member: Membership) -> int:
    """Return how many messages on the page the reader has not opened."""
    return (
        rows(Message, member)
        .filter(
            person=member.person,
            channel=Message.Channel.INBOX,
            state=Message.State.SENT,
            read_at__isnull=True,
        )
        .count()
    )

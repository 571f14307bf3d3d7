"""Messages to the reader, as they were sent."""

from django.core.paginator import Paginator
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.views.decorators.http import require_safe

from lifecycle.models import Membership, Message
from lifecycle.records.messages.messages import mark_read
from lifecycle.web.door import enter, first_site, garden_day, number_in, page, rows

PAGE_OF = 50


def _mine(member: Membership) -> QuerySet[Message]:
    return rows(Message, member).filter(
        person=member.person, channel=Message.Channel.INBOX, state=Message.State.SENT
    )


@require_safe
def inbox(request: HttpRequest, slug: str) -> HttpResponse:
    """List the reader's messages, newest first."""
    member = enter(request, slug)
    site = first_site(member.garden)
    found = _mine(member).order_by("-sent_at", "-pk")
    shown = Paginator(found, PAGE_OF).get_page(number_in(request, "page") or 1)
    context = {"shown": shown, "site": site, "today": garden_day(site, timezone.now())}
    return page(request, "inbox.html", context)


@require_safe
def message(request: HttpRequest, slug: str, pk: int) -> HttpResponse:
    """Show one message; opening it is reading it."""
    member = enter(request, slug)
    found = get_object_or_404(_mine(member), pk=pk)
    now = timezone.now()
    if found.read_at is None and request.method == "GET":
        mark_read(found, now=now)
    site = first_site(member.garden)
    context = {"message": found, "site": site, "today": garden_day(site, now)}
    return page(request, "message.html", context)

"""Stop one kind of e-mail from the mail itself: no signing in, no cookie, one click.

RFC 8058: the POST comes from the mail program's own server, without cookies, and must work at
once. Opening the address changes nothing, since programs open every address in a mail.
"""

from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods

from lifecycle.models import Message
from lifecycle.records.messages.unsubscribing import gets_by_email, reader_of, set_by_email
from lifecycle.web.door import page

AGAIN = "again"


@login_not_required
@csrf_exempt
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def unsubscribe(request: HttpRequest, person: int, kind: str, code: str) -> HttpResponse:
    """Show the button, or stop this kind of e-mail, or begin it again."""
    reader = reader_of(person, kind, code)
    if reader is None:
        raise Http404("This address stops nothing. Choose your messages in My settings.")
    done = request.method == "POST"
    if done:
        set_by_email(reader, kind, wanted=request.POST.get("act") == AGAIN)
    context = {
        "kind": Message.Kind(kind).label,
        "wanted": gets_by_email(reader, kind),
        "done": done,
    }
    answer = page(request, "unsubscribe.html", context)
    answer["X-Robots-Tag"] = "noindex, nofollow"
    return answer

"""Messages on a device: allowing them in this browser, stopping them, and what that needs."""

from typing import Any

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.templatetags.static import static
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from lifecycle.models import Garden, Person, PushSubscription
from lifecycle.records.messages.push import subscribe, unsubscribe
from lifecycle.records.refusal import Refused
from lifecycle.reminders.messages.push import public_key
from lifecycle.web.door import page, reader, refused_page

ICON_SIZES = (192, 512)


@require_http_methods(["GET", "HEAD", "POST"])
def allow_push(request: HttpRequest) -> HttpResponse:
    """Explain messages on a device; a POST keeps what the browser gave once allowed."""
    person = reader(request)
    if request.method == "POST":
        given = {name: request.POST.get(name, "") for name in ("endpoint", "p256dh", "auth")}
        device = request.POST.get("device", "")
        try:
            subscribe(person, **given, device=device, now=timezone.now())
        except Refused as refusal:
            back, label = reverse("settings"), "My settings"
            return refused_page(request, str(refusal), back=back, back_label=label)
        return redirect(f"{reverse('settings')}#push")
    request.invented = (  # type: ignore[attr-defined]
        Garden.objects.visible_to(person).filter(invented=True).exists()
    )
    known = PushSubscription.objects.filter(person=person).values_list("endpoint", flat=True)
    return page(request, "push.html", {"key": public_key(), "known": " ".join(known)})


@require_POST
def stop_push(request: HttpRequest) -> HttpResponse:
    """Stop messages on one of the reader's devices."""
    number = request.POST.get("device", "")
    if number.isascii() and number.isdigit() and len(number) < 19:
        unsubscribe(reader(request), int(number))
    return redirect(f"{reverse('settings')}#push")


@login_not_required
@require_safe
@never_cache
def push_worker(request: HttpRequest) -> HttpResponse:
    """Give the script that shows messages while no page of the site is open."""
    answer = render(request, "lifecycle/push_worker.js", content_type="text/javascript")
    # It stands at the root, and serves every page below.
    answer["Service-Worker-Allowed"] = "/"
    return answer


@login_not_required
@require_safe
def manifest(request: HttpRequest) -> HttpResponse:
    """Give what a phone needs to put the site on its home screen."""
    icons = [
        {
            "src": static(f"lifecycle/icon-{size}.png"),
            "sizes": f"{size}x{size}",
            "type": "image/png",
        }
        for size in ICON_SIZES
    ]
    given = {
        "id": "/",
        "name": "Garden record",
        "short_name": "Garden",
        "start_url": "/",
        "scope": "/",
        "display": "standalone",
        "background_color": "#FFFFFF",
        "theme_color": "#1A1F26",
        "icons": icons,
    }
    answer = JsonResponse(given, content_type="application/manifest+json")
    answer["Cache-Control"] = "public, max-age=86400"
    return answer


def part(person: Person) -> dict[str, Any]:
    """Return what My settings shows of messages on devices."""
    devices = PushSubscription.objects.filter(person=person).order_by("made_at", "pk")
    return {"devices": list(devices)}

"""What every page knows: the garden it belongs to, the way round it, and what the reader may do."""

from typing import Any

from django.http import HttpRequest
from django.urls import reverse

from lifecycle.models import Membership
from lifecycle.permissions import ROLE_ACTIONS

NAVIGATION = (
    ("Today", "today"),
    ("Beds", "beds"),
    ("Plants", "plants"),
    ("Tasks", "tasks"),
    ("More", "more"),
)


def site_wide(request: HttpRequest) -> dict[str, Any]:
    """Return the header's context; pages outside a garden have none."""
    member: Membership | None = getattr(request, "member", None)
    if member is None:
        return {"garden": None, "invented": getattr(request, "invented", False), "may": {}}
    garden = member.garden
    return {
        "member": member,
        "garden": garden,
        "invented": garden.invented,
        "navigation": _navigation(request, garden.slug),
        "may": {
            action.replace(".", "_"): True for action in ROLE_ACTIONS.get(member.role, frozenset())
        },
    }


def _navigation(request: HttpRequest, slug: str) -> list[dict[str, str]]:
    entries = []
    for word, name in NAVIGATION:
        url = reverse(name, args=[slug])
        inside = name != "today" and request.path.startswith(f"{url}/")
        here = "page" if request.path == url else "true" if inside else ""
        entries.append({"word": word, "url": url, "here": here})
    return entries

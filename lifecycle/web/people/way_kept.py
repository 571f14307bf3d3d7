"""Where a mailed link leads on to, kept without any address that opens something by itself."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any
from urllib.parse import unquote, urlsplit

from django.urls import Resolver404, resolve

from lifecycle.models import Invitation
from lifecycle.records.people.invitations import invitation_of, link_path
from lifecycle.web.people.own_path import own_path

NEXT, INVITATION = "next", "invitation"
_NOT_SECRET = frozenset({"label"})
"""Outside a garden, an address with a code is a secret; but a label stands beside its plant."""


def kept(back: str) -> dict[str, Any]:
    """Return what to keep of the path of a page, for the time until a link is used.

    Of an invitation its number is kept, of another secret address nothing.
    """
    try:
        found = resolve(unquote(urlsplit(back).path))
    except Resolver404:
        return {}
    if found.url_name == "accept-invitation":
        invitation = invitation_of(**found.kwargs)
        return {} if invitation is None else {INVITATION: invitation.pk}
    is_secret = "code" in found.kwargs and "slug" not in found.kwargs
    return {} if is_secret and found.url_name not in _NOT_SECRET else {NEXT: back}


def way_on(data: Mapping[str, Any], *, kept_at: datetime) -> str:
    """Return the path to which what was kept leads, or "".

    An invitation that was sent anew since opens with its newer letter only.
    """
    if INVITATION not in data:
        return own_path(data.get(NEXT))
    found = Invitation.objects.filter(pk=data[INVITATION], sent_at__lte=kept_at).first()
    return link_path(found) if found is not None else ""

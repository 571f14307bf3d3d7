"""What stands before and after every page: how much may be sent, and what no cache may keep."""

import re
from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

Answer = Callable[[HttpRequest], HttpResponse]

LARGEST = 2 * 1024 * 1024
SMALL = 16 * 1024
LARGEST_RECORD = 31 * 1024 * 1024
"""Bytes of a request: of a form, of a public address, and of the page that takes a daily record."""

_PUBLIC = ("/a/", "/u/", "/i/", "/join/", "/sensor/", "/sign-in", "/first-run")
_RECORD_PAGE = re.compile(r"/g/[^/]+/sites/[0-9]+/climate")


class BodyLimit:
    """Refuse what is too large before anything reads it; Django's own limit leaves out files."""

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer 413 to a request that says it is too large for its address."""
        length = request.META.get("CONTENT_LENGTH") or "0"
        if not (length.isascii() and length.isdigit()):
            return _plain("The length of the request is not a number.\n", 400)
        if int(length[:18]) > most_for(request.path):
            return _plain("This is too large to be taken here.\n", 413)
        return self.get_response(request)


class NothingKept:
    """Let no cache keep what a signed-in reader sees: addresses, telephone numbers, names."""

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Mark an answer private unless its page said otherwise."""
        response = self.get_response(request)
        signed_in = getattr(request, "user", None)
        if signed_in is not None and signed_in.is_authenticated:
            response.headers.setdefault("Cache-Control", "private, no-store")
        return response


def most_for(path: str) -> int:
    """Return how many bytes may be sent to an address."""
    if path.startswith(_PUBLIC):
        return SMALL
    return LARGEST_RECORD if _RECORD_PAGE.fullmatch(path) else LARGEST


def _plain(text: str, status: int) -> HttpResponse:
    return HttpResponse(text, status=status, content_type="text/plain")

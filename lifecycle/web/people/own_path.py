"""Where a page may lead on to: addresses of this site, and only by their path."""

from django.utils.http import url_has_allowed_host_and_scheme

LONGEST = 500
_ELSEWHERE = ("/sign-in", "/sign-out", "/first-run")
"""Leading back to one of these would go round in circles."""


def own_path(wanted: object) -> str:
    """Return ``wanted`` when it is the path of a page here, else an empty text.

    A path begins with one slash and holds no backslash and no control character: browsers read
    some of those as the beginning of another site's address.
    """
    if not isinstance(wanted, str) or not wanted.startswith("/") or len(wanted) > LONGEST:
        return ""
    if "\\" in wanted or not wanted.isprintable() or wanted.startswith(_ELSEWHERE):
        return ""
    return wanted if url_has_allowed_host_and_scheme(wanted, allowed_hosts=None) else ""

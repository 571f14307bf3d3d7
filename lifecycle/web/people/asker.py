"""From where a request comes, as far as that can be believed."""

from ipaddress import IPv6Address, ip_address, ip_network

from django.conf import settings
from django.http import HttpRequest

HOME_BITS = 64
"""Of an IPv6 address: what one household or one server has to itself is at least that much."""


def address_of(request: HttpRequest) -> str | None:
    """Return the address that asked, an IPv6 one cut to its network; None when it is unknown.

    Behind a proxy of one's own that is the last entry of X-Forwarded-For, which the proxy wrote;
    all before it may be made up by whoever asked. Without such a proxy the header is ignored.
    """
    if settings.BEHIND_PROXY:
        forwarded = request.META.get("HTTP_X_FORWARDED_FOR", "")
        if found := _plain(forwarded.rpartition(",")[2].strip()):
            return found
    return _plain(request.META.get("REMOTE_ADDR", ""))


def _plain(text: str) -> str | None:
    try:
        address = ip_address(text)
    except ValueError:
        return None
    if isinstance(address, IPv6Address):
        if address.ipv4_mapped is not None:
            return str(address.ipv4_mapped)
        network = ip_network(f"{address.compressed.partition('%')[0]}/{HOME_BITS}", strict=False)
        return str(network.network_address)
    return str(address)

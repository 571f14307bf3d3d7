"""Secret addresses that no table holds: each is worked out from a row's nonce and the site's key.

A new nonce makes a new address and ends the old one.
"""

import base64
import secrets
from uuid import UUID

from django.conf import settings
from django.utils.crypto import constant_time_compare, salted_hmac

BYTES = 18
"""144 bits: 24 characters in an address."""


def code_for(purpose: str, pk: int, nonce: UUID) -> str:
    """Return the secret code of one row for one purpose, with the key in use."""
    return _code(purpose, pk, nonce, settings.SECRET_KEY)


def is_code(given: str, purpose: str, pk: int, nonce: UUID) -> bool:
    """Return whether ``given`` is the row's code, under the key in use or an earlier one."""
    keys = [settings.SECRET_KEY, *settings.SECRET_KEY_FALLBACKS]
    # Every key is tried, so that the time taken tells nothing.
    same = [constant_time_compare(given, _code(purpose, pk, nonce, key)) for key in keys]
    return any(same)


def new_nonce() -> UUID:
    """Return a nonce nobody can guess."""
    return UUID(bytes=secrets.token_bytes(16), version=4)


def _code(purpose: str, pk: int, nonce: UUID, key: str) -> str:
    digest = salted_hmac(
        f"lifecycle.{purpose}", f"{pk}:{nonce.hex}", secret=key, algorithm="sha256"
    ).digest()
    return base64.urlsafe_b64encode(digest[:BYTES]).decode()

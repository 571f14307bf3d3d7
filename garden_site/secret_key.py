"""A signing key that a fresh install makes for itself and keeps, and what follows from it."""

import base64
import hashlib
import hmac
import os
import secrets
from pathlib import Path

# Order of the base point of P-256 (FIPS 186): a private key lies between 0 and it.
_P256_ORDER = 0xFFFFFFFF00000000FFFFFFFFFFFFFFFFBCE6FAADA7179E84F3B9CAC2FC632551


def kept_secret_key(folder: Path) -> str:
    """Return the key in ``folder``; make it on first use, readable by its owner only.

    Two processes that start together agree: the file is created exclusively and the
    loser reads the winner's key.
    """
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / "secret_key"
    try:
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    except FileExistsError:
        return path.read_text().strip()
    with os.fdopen(handle, "w") as file:
        key = secrets.token_urlsafe(64)
        file.write(key)
    return key


def push_key(secret_key: str) -> str:
    """Return the private key that signs push messages: 32 bytes of P-256 in base64url.

    It follows from the signing key, so that web servers and workers agree without another
    secret to hand round.
    """
    digest = hmac.digest(secret_key.encode(), b"garden_site.push", hashlib.sha512)
    number = 1 + int.from_bytes(digest, "big") % (_P256_ORDER - 1)
    return base64.urlsafe_b64encode(number.to_bytes(32, "big")).decode().rstrip("=")

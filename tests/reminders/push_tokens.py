"""Reads the signed claims of a push message by the rules of RFC 7515 and 7518 alone."""

import base64
import json
from typing import Any

from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.asymmetric.utils import encode_dss_signature
from cryptography.hazmat.primitives.hashes import SHA256


def decoded(text: str) -> bytes:
    """Return the bytes of base64url without padding."""
    return base64.urlsafe_b64decode(text + "=" * (-len(text) % 4))


def claims_of(token: str, key: str) -> tuple[dict[str, Any], dict[str, Any]]:
    """Return header and claims. Raises InvalidSignature unless ``key`` signed them."""
    head, claims, signature = token.split(".")
    raw = decoded(signature)
    assert len(raw) == 64
    numbers = (int.from_bytes(part, "big") for part in (raw[:32], raw[32:]))
    point = ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), decoded(key))
    point.verify(encode_dss_signature(*numbers), f"{head}.{claims}".encode(), ec.ECDSA(SHA256()))
    return json.loads(decoded(head)), json.loads(decoded(claims))

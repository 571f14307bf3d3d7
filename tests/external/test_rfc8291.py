"""RFC 8291 (message encryption for web push, 2017), section 5 and appendix A: its example.

Values from memory; that they are right shows in that the example opens, for its tag proves
every octet. The way of opening follows sections 3.3 and 3.4 and RFC 8188, section 2, and
shares nothing with the library that seals.
"""

import base64
import os

import http_ece
import pytest
from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

from lifecycle.models import PushSubscription
from lifecycle.reminders.messages.push import sealed

PLAIN = b"When I grow up, I want to be a watermelon"
RECEIVER = "q1dXpw3UpT5VOmu_cf_v6ih07Aems3njxI-JWgLcM94"
RECEIVER_PUBLIC = (
    "BCVxsr7N_eNgVRqvHtD0zTZsEc6-VV-JvLexhqUzORcxaOzi6-AYWXvTBHm4bjyPjs7Vd8pZGH6SRpkNtoIAiw4"
)
SENDER = "yfWPiYE-n46HLnH0KqZOF1fJJU3MYrct3AELtAQ-oRw"
AUTH = "BTBZMqHH6r4Tts7J_aSIgg"
SALT = "DGv6ra1nlYgDCS1FRnbzlw"
BODY = (
    "DGv6ra1nlYgDCS1FRnbzlwAAEABBBP4z9KsN6nGRTbVYI_c7VJSPQTBtkgcy27ml"
    "mlMoZIIgDll6e3vCYLocInmYWAmS6TlzAC8wEqKK6PBru3jl7A_yl95bQpu6cVPT"
    "pK4Mqgkf1CXztLVBSt2Ks3oZwbuwXPXLWyouBWLVWGNWQexSgSxsj_Qulcy4a-fN"
)


def octets(text: str) -> bytes:
    return base64.urlsafe_b64decode(text + "=" * (-len(text) % 4))


def private(text: str) -> ec.EllipticCurvePrivateKey:
    return ec.derive_private_key(int.from_bytes(octets(text), "big"), ec.SECP256R1())


def point(key: ec.EllipticCurvePrivateKey) -> bytes:
    return key.public_key().public_bytes(Encoding.X962, PublicFormat.UncompressedPoint)


def derived(secret: bytes, salt: bytes, info: bytes, length: int) -> bytes:
    return HKDF(algorithm=SHA256(), length=length, salt=salt, info=info).derive(secret)


def opened(body: bytes, receiver: ec.EllipticCurvePrivateKey, auth: bytes) -> bytes:
    """Open one record by the rules of the papers."""
    salt, size, named = body[:16], int.from_bytes(body[16:20], "big"), body[20]
    sender, record = body[21 : 21 + named], body[21 + named :]
    assert named == 65
    assert len(record) <= size
    shared = receiver.exchange(
        ec.ECDH(), ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), sender)
    )
    info = b"WebPush: info\x00" + point(receiver) + sender
    keying = derived(shared, auth, info, 32)
    key = derived(keying, salt, b"Content-Encoding: aes128gcm\x00", 16)
    nonce = derived(keying, salt, b"Content-Encoding: nonce\x00", 12)
    padded = AESGCM(key).decrypt(nonce, record, None)
    plain, mark, padding = padded.rpartition(b"\x02")
    assert mark == b"\x02"
    assert not padding.strip(b"\x00")
    return plain


def test_example_opens_by_the_rules() -> None:
    assert opened(octets(BODY), private(RECEIVER), octets(AUTH)) == PLAIN


def test_library_seals_the_example_to_the_octet() -> None:
    found = http_ece.encrypt(
        PLAIN,
        salt=octets(SALT),
        private_key=private(SENDER),
        dh=octets(RECEIVER_PUBLIC),
        auth_secret=octets(AUTH),
        version="aes128gcm",
    )
    assert found == octets(BODY)


def test_what_the_site_seals_opens_by_the_rules() -> None:
    receiver, auth = ec.generate_private_key(ec.SECP256R1()), os.urandom(16)
    kept = PushSubscription(
        p256dh=base64.urlsafe_b64encode(point(receiver)).decode().rstrip("="),
        auth=base64.urlsafe_b64encode(auth).decode().rstrip("="),
    )
    body = sealed(kept, PLAIN)
    assert opened(body, receiver, auth) == PLAIN
    with pytest.raises(InvalidTag):
        opened(body, receiver, bytes(16))

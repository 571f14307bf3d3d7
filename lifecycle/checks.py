"""System checks with ids of their own, run by ``manage.py check --deploy`` and at start."""

import base64
from typing import Any
from zoneinfo import available_timezones

from django.conf import settings
from django.core.checks import CheckMessage, Error, Warning, register

PUSH_KEY_BYTES = 32


@register()
def time_is_utc(**_: Any) -> list[CheckMessage]:
    """Instants must be UTC: garden dates come from each site's own zone."""
    if settings.TIME_ZONE != "UTC" or not settings.USE_TZ:
        return [Error("TIME_ZONE must be UTC and USE_TZ true.", id="lifecycle.E001")]
    return []


@register()
def zones_are_there(**_: Any) -> list[CheckMessage]:
    """The zone rules must be installed."""
    if not available_timezones():
        return [Error("No time zone rules found.", hint="Install tzdata.", id="lifecycle.E002")]
    return []


@register()
def push_key_fits(**_: Any) -> list[CheckMessage]:
    """The key that signs push messages must be one of P-256."""
    key = settings.VAPID_PRIVATE_KEY
    try:
        length = len(base64.b64decode(key + "=" * (-len(key) % 4), altchars=b"-_", validate=True))
    except ValueError:
        length = 0
    if length == PUSH_KEY_BYTES:
        return []
    hint = "Give 32 bytes in base64url, or leave VAPID_PRIVATE_KEY empty."
    return [Error("VAPID_PRIVATE_KEY is no private key.", hint=hint, id="lifecycle.E003")]


@register(deploy=True)
def eager_needs_sqlite(**_: Any) -> list[CheckMessage]:
    """Ticks without a broker beside a shared server are rarely meant."""
    engine = settings.DATABASES["default"]["ENGINE"]
    if engine.endswith("postgresql") and settings.CELERY_TASK_ALWAYS_EAGER:
        return [
            Warning(
                "PostgreSQL is set and BROKER_URL is not: ticks run inside beat.",
                hint="Set BROKER_URL to the Redis server.",
                id="lifecycle.W001",
            )
        ]
    return []

"""Every composer: importing this module imports all that register one."""

from lifecycle.reminders import (
    ask_notices,
    ask_words,
    cover_words,
    digest_words,
    escalation_words,
    failure_notice,
    handing_words,
    inspection_words,
    leaving_words,
    offer_words,
    promotion_words,
    published_words,
    trial,
    wording,
)
from lifecycle.reminders.composing import COMPOSERS

__all__ = [
    "COMPOSERS",
    "ask_notices",
    "ask_words",
    "cover_words",
    "digest_words",
    "escalation_words",
    "failure_notice",
    "handing_words",
    "inspection_words",
    "leaving_words",
    "offer_words",
    "promotion_words",
    "published_words",
    "trial",
    "wording",
]

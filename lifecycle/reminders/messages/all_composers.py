"""Every composer: importing this module imports all that register one."""

from lifecycle.reminders.messages import (
    digest_words,
    failure_notice,
    trial,
    wording,
)
from lifecycle.reminders.messages.composing import COMPOSERS
from lifecycle.reminders.nights import (
    ask_notices,
    ask_words,
)
from lifecycle.reminders.people import (
    handing_words,
    inspection_words,
    leaving_words,
)
from lifecycle.reminders.work import (
    cover_words,
    escalation_words,
    offer_words,
    promotion_words,
    published_words,
)

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

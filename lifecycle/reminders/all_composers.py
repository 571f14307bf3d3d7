"""Every composer: importing this module imports all that register one."""

from lifecycle.reminders import (
    ask_notices,
    ask_words,
    digest_words,
    escalation_words,
    failure_notice,
    promotion_words,
    trial,
    wording,
)
from lifecycle.reminders.composing import COMPOSERS

__all__ = [
    "COMPOSERS",
    "ask_notices",
    "ask_words",
    "digest_words",
    "escalation_words",
    "failure_notice",
    "promotion_words",
    "trial",
    "wording",
]

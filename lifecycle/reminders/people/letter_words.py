"""Who writes which letter: one function for everything a letter can be about."""

from collections.abc import Callable
from datetime import datetime

from lifecycle.models import Letter
from lifecycle.reminders.messages.composing import Composed
from lifecycle.reminders.people import (
    letter_invitation,
    letter_leaving,
    letter_sign_in,
)

LetterComposer = Callable[[Letter, datetime], Composed | None]

WORDS: dict[str, LetterComposer] = {
    Letter.About.SIGN_IN: letter_sign_in.compose,
    Letter.About.INVITATION: letter_invitation.compose,
    Letter.About.LEAVING: letter_leaving.compose,
    Letter.About.ERASED: letter_leaving.compose,
}
"""By ``about``: writes the letter, or None where nothing is left to say or nobody to say it to."""

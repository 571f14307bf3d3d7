"""What the sign-in page says to somebody who has just left, or asked to be erased."""

from datetime import date
from urllib.parse import urlencode

from django.http import HttpRequest
from django.urls import reverse

from lifecycle.care.wording import short_date

LEFT, ERASED = "left", "erased"
_WORDS = {
    LEFT: "You have left the garden. Until {day} you can come back: sign in here, and press "
    "“Come back”.",
    ERASED: "You have left every garden, and your account will be erased after {day}. Until then "
    "you can take it back: sign in here, and press “Keep my account”.",
}


def farewell_address(which: str, until: date) -> str:
    """Return the sign-in page as it says goodbye; ``until``: the last day to come back."""
    return f"{reverse('sign-in')}?{urlencode({which: until.isoformat()})}"


def farewell_words(request: HttpRequest) -> str:
    """Return the goodbye that the address asks for; "" for none, or for a day that is none."""
    for which, words in _WORDS.items():
        try:
            until = date.fromisoformat(request.GET.get(which, ""))
        except ValueError:
            continue
        return words.format(day=short_date(until))
    return ""

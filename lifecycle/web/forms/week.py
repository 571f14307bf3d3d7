"""Forms of the week's work: which pieces of it, and for whom."""

from typing import Any

from django import forms

from lifecycle.models import Membership
from lifecycle.web.forms.choices import workers_of
from lifecycle.web.forms.fields import PlainForm

MOST_KEYS = 2_000
KEY_LENGTH = 80


class PiecesField(forms.Field):
    """The ticked pieces of work, by their keys; what changed meanwhile is found out later."""

    widget = forms.MultipleHiddenInput

    def clean(self, value: Any) -> list[str]:
        """Return the keys that can be keys at all."""
        keys = [each for each in value or () if isinstance(each, str) and len(each) <= KEY_LENGTH]
        return list(dict.fromkeys(keys))[:MOST_KEYS]


class PiecesForm(PlainForm):
    """Some pieces of the week's work."""

    piece = PiecesField(required=False)


class GivePiecesForm(PiecesForm):
    """Some pieces, and a member who may do them."""

    def __init__(self, member: Membership, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        messages = {"required": "Choose a person to give it to."}
        self.ask(
            to=forms.ModelChoiceField(
                workers_of(member),
                label="Person",
                empty_label="Choose a person",
                error_messages=messages,
            )
        )

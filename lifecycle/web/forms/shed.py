"""Forms of the key and tool list."""

from typing import Any

from django import forms

from lifecycle.models import Membership, Tool
from lifecycle.records.ground.shed import KEPT_LENGTH, NAME_LENGTH, NOTE_LENGTH
from lifecycle.web.forms.choices import site_choice
from lifecycle.web.forms.fields import PlainForm, TextField


class ToolForm(PlainForm):
    """What a tool or a key is called and where it is kept."""

    kind = forms.ChoiceField(label="What it is", choices=Tool.Kind.choices)
    name = TextField(
        label="Name",
        max_length=NAME_LENGTH,
        help_text="Number tools that are alike: loppers 1, loppers 2.",
    )
    kept_in = TextField(label="Where it is kept", max_length=KEPT_LENGTH, required=False)
    note = TextField(label="Note", max_length=NOTE_LENGTH, required=False)


class NewToolForm(ToolForm):
    """A tool or a key that comes on the list of a site."""

    def __init__(self, member: Membership, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.ask(site=site_choice(member))

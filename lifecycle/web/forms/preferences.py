"""My settings as a form: name and units, and what a person gets where."""

from typing import Any, NamedTuple

from django import forms
from django.forms import BoundField

from lifecycle.models import Message, Person
from lifecycle.records.messages.message_choices import DEFAULTS
from lifecycle.records.people.people import FIRST_HOUR, LAST_HOUR, PHONE_LENGTH
from lifecycle.web.forms.fields import PlainForm, TextField

DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
CHANNELS = (Message.Channel.EMAIL, Message.Channel.PUSH)


class KindRow(NamedTuple):
    """One kind of message with a box a channel."""

    label: str
    boxes: list[BoundField]


class PreferencesForm(PlainForm):
    """How a person is called, reads numbers and hears of work.

    ``kinds`` are those that the person can get.
    """

    name = TextField(label="Your name", max_length=60)
    temperature = forms.ChoiceField(
        label="Temperatures in", choices=Person.Temperature.choices, widget=forms.RadioSelect
    )
    length = forms.ChoiceField(
        label="Lengths and weights in", choices=Person.Length.choices, widget=forms.RadioSelect
    )
    phone = TextField(
        label="Telephone",
        max_length=PHONE_LENGTH,
        required=False,
        help_text="May stay empty. Who leads a garden of yours sees it at any time: on the page "
        "People, and on a frost night to ring you.",
        widget=forms.TextInput(attrs={"autocomplete": "tel", "inputmode": "tel"}),
    )
    digest_day = forms.TypedChoiceField(
        label="Day of the weekly message", choices=list(enumerate(DAYS)), coerce=int
    )
    digest_hour = forms.TypedChoiceField(
        label="Hour of the weekly message",
        choices=[(hour, f"{hour:02}:00") for hour in range(FIRST_HOUR, LAST_HOUR + 1)],
        coerce=int,
        help_text="On the clock of the garden.",
    )

    def __init__(self, kinds: list[Message.Kind], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.kinds = kinds
        for kind in kinds:
            for channel in CHANNELS:
                label = f"{channel.label}: {kind.label}"
                self.fields[_box(kind, channel)] = forms.BooleanField(label=label, required=False)

    @property
    def own(self) -> list[BoundField]:
        """The fields about the person."""
        return [self[name] for name in ("name", "temperature", "length", "phone")]

    @property
    def week(self) -> list[BoundField]:
        """When the weekly message comes."""
        return [self["digest_day"], self["digest_hour"]]

    @property
    def matrix(self) -> list[KindRow]:
        """The boxes by kind and channel."""
        return [
            KindRow(kind.label, [self[_box(kind, channel)] for channel in CHANNELS])
            for kind in self.kinds
        ]

    def as_preferences(self) -> dict[str, Any]:
        """Return the answers as ``set_preferences`` takes them."""
        given = dict(self.cleaned_data)
        choices = {
            (kind.value, channel.value): given.pop(_box(kind, channel))
            for kind in self.kinds
            for channel in CHANNELS
        }
        return {**given, "choices": choices}


def initial_of(person: Person, wanted: dict[str, dict[str, bool]]) -> dict[str, Any]:
    """Return what the form shows before anything is changed."""
    boxes = {
        _box(Message.Kind(kind), Message.Channel(channel)): wanted[kind][channel]
        for kind, channels in DEFAULTS.items()
        for channel in channels
    }
    names = ("name", "temperature", "length", "phone", "digest_day", "digest_hour")
    return {**{name: getattr(person, name) for name in names}, **boxes}


def _box(kind: Message.Kind, channel: Message.Channel) -> str:
    return f"{kind.value}_{channel.value}"

"""Forms that begin records: sow, pot up, take a plant over."""

from datetime import date
from typing import Any

from django import forms

from lifecycle.life.phases import PHASE_LABELS, PLANT_PHASES
from lifecycle.models import Membership
from lifecycle.web.forms.choices import PlaceChoice, member_choice, site_choice, species_choice
from lifecycle.web.forms.fields import (
    CountField,
    DayField,
    NoteField,
    OnceForm,
    PlainForm,
    TextField,
)


class BeginForm(OnceForm):
    """What every beginning asks: species, variety, place, holder and day."""

    field_order: list[str] | None = None

    def __init__(self, member: Membership, today: date, *args: Any, **kwargs: Any) -> None:
        initial = {
            "happened_on": today,
            "holder": member.person_id,
            **(kwargs.pop("initial", None) or {}),
        }
        super().__init__(*args, initial=initial, **kwargs)
        self.ask(**self.asked(member))
        self.order_fields(self.field_order)

    def asked(self, member: Membership) -> dict[str, forms.Field]:
        """Return the fields whose choices depend on the garden."""
        return {
            "species": species_choice(),
            "variety": TextField(
                label="Variety",
                max_length=60,
                widget=forms.TextInput(attrs={"list": "varieties", "autocomplete": "off"}),
            ),
            "holder": member_choice(member, "Held by", required=False, empty_label="Nobody yet"),
        }


class SowForm(BeginForm):
    """A batch of seed, sown already or to be planned."""

    act = forms.ChoiceField(
        label="What has happened",
        choices=[("sown", "Sown already"), ("planned", "Not yet: plan it for me")],
        widget=forms.RadioSelect,
        initial="sown",
    )
    lot_name = TextField(
        label="Seed lot",
        max_length=60,
        required=False,
        help_text="As on the packet. May stay empty.",
    )
    packed_year = CountField(label="Packed in year", low=1990, high=2200, required=False)
    seeds = CountField(
        label="Seeds sown", low=1, high=10_000, required=False, help_text="Only when sown already."
    )
    happened_on = DayField(label="When sown", required=False)
    field_order = [
        "species",
        "variety",
        "act",
        "seeds",
        "happened_on",
        "place",
        "site",
        "lot_name",
        "packed_year",
        "holder",
    ]

    def asked(self, member: Membership) -> dict[str, forms.Field]:
        """Add the site and the place."""
        return {
            **super().asked(member),
            "site": site_choice(member),
            "place": PlaceChoice(member, label="Where it stands", required=False),
        }

    def clean(self) -> dict[str, Any]:
        """A sowing that has happened needs its number of seeds."""
        typed = super().clean() or self.cleaned_data
        if typed.get("act") == "sown" and "seeds" in typed and typed["seeds"] is None:
            self.add_error("seeds", self.fields["seeds"].error_messages["required"])
        return typed


class PotUpForm(OnceForm):
    """How many pots a sowing gave."""

    singles = CountField(label="Pots with one plant", low=0, high=200, initial=0)
    pairs = CountField(label="Pots with two plants kept together", low=0, high=100, initial=0)

    def __init__(self, member: Membership, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.ask(place=PlaceChoice(member, label="Where they stand"))
        self.ask(happened_on=DayField())


class TakeOverForm(BeginForm):
    """A plant whose history nobody knows."""

    name = TextField(
        label="Name", max_length=60, required=False, help_text="Empty: the variety with a number."
    )
    phase = forms.ChoiceField(
        label="Where it stands in its life",
        choices=[(phase.value, PHASE_LABELS[phase]) for phase in PLANT_PHASES],
    )
    count = forms.TypedChoiceField(
        label="One plant or two together",
        choices=[("1", "One plant"), ("2", "A pair grown together")],
        coerce=int,
        widget=forms.RadioSelect,
        initial="1",
    )
    happened_on = DayField(label="When it was taken over")
    note = NoteField()
    field_order = [
        "species",
        "variety",
        "name",
        "place",
        "phase",
        "count",
        "holder",
        "happened_on",
        "note",
    ]

    def asked(self, member: Membership) -> dict[str, forms.Field]:
        """Add the place."""
        return {**super().asked(member), "place": PlaceChoice(member)}


class SearchForm(PlainForm):
    """What narrows the list of plants; anything it does not know is left out and said."""

    q = TextField(label="Name, variety or code", max_length=100, required=False)
    state = forms.ChoiceField(
        label="State",
        required=False,
        choices=[("", "Living"), ("ended", "Ended"), ("all", "All")],
    )
    phase = forms.ChoiceField(label="Phase", required=False)
    place = forms.ChoiceField(label="Place", required=False)
    holder = forms.ChoiceField(label="Held by", required=False)
    species = forms.ChoiceField(label="Species", required=False)

    def __init__(
        self, choices: dict[str, list[tuple[str, str]]], *args: Any, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.fields["q"].widget.input_type = "search"
        for name, known in choices.items():
            field = self.fields[name]
            assert isinstance(field, forms.ChoiceField)
            field.choices = [("", "Any"), *known]

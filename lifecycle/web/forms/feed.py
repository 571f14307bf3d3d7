"""Forms to choose a feed, to log it, and to add a material by its label."""

from collections.abc import Sequence
from typing import Any

from django import forms

from lifecycle.care.feeding import LEAST_M2, MOST_M2, Use
from lifecycle.life.care_kinds import FEED
from lifecycle.life.kinds import Quantity
from lifecycle.models import Person
from lifecycle.records.crops.materials import HEAVIEST, LIGHTEST
from lifecycle.web.forms.fields import (
    DayField,
    MeasureField,
    NoteField,
    OnceForm,
    PlainForm,
    TextField,
)

AREA = Quantity("Area", "m2", LEAST_M2, MOST_M2)
WATER = Quantity("Water", "litre", 0.1, 1000)
MOST_IN_ALL = 500_000
DENSITY = Quantity("Bulk density", "g per ml", LIGHTEST, HEAVIEST)
_LABEL = (
    ("n", Quantity("Nitrogen N", "%", 0, 100, required=True)),
    ("p2o5", Quantity("Phosphate P2O5", "%", 0, 100, required=True)),
    ("k2o", Quantity("Potash K2O", "%", 0, 100, required=True)),
)
USES = {
    Use.BED: "The whole bed",
    Use.HOLE: "One plant",
    Use.WATER: "Water to feed with",
}


class ChooseForm(PlainForm):
    """Which material, and what for; up to two more to mix with it."""

    def __init__(
        self,
        materials: Sequence[tuple[str, str]],
        uses: Sequence[Use],
        person: Person,
        *args: Any,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        none = [("", "None"), *materials]
        self.ask(
            material=forms.ChoiceField(label="Material at hand", choices=materials),
            use=forms.ChoiceField(
                label="For",
                choices=[(use.value, USES[use]) for use in uses],
                widget=forms.RadioSelect,
                initial=uses[0].value,
            ),
        )
        if Use.BED in uses:
            self.ask(
                area_m2=MeasureField(AREA, person, help_text="Of the bed."),
                second=forms.ChoiceField(
                    label="Mixed with", choices=none, required=False, help_text="For the bed only."
                ),
                third=forms.ChoiceField(label="And with", choices=none, required=False),
            )
        self.ask(litres=MeasureField(WATER, person, initial=1.0, help_text="Of feeding water."))

    def clean(self) -> dict[str, Any]:
        """A bed's dose needs its area, and a mixture materials that differ."""
        typed = super().clean() or self.cleaned_data
        if typed.get("use") == Use.BED and "area_m2" in typed and typed["area_m2"] is None:
            self.add_error("area_m2", "Area: say how large the bed is, or choose one plant.")
        if typed.get("use") == Use.WATER and "litres" in typed and typed["litres"] is None:
            self.add_error("litres", "Water: say how many litres.")
        chosen = self.chosen()
        if len(chosen) != len(set(chosen)):
            self.add_error("second", "Mixed with: choose another material than the first.")
        return typed

    def chosen(self) -> list[str]:
        """Return the keys of the materials chosen: those to mix only for the whole bed."""
        typed = self.cleaned_data
        more = [typed.get("second"), typed.get("third")] if typed.get("use") == Use.BED else []
        return [key for key in (typed.get("material"), *more) if key]


class GiveFeedForm(OnceForm):
    """What was given: so many grams of a material, to each plant or to all of them together."""

    material = forms.CharField(widget=forms.HiddenInput, max_length=24)
    use = forms.ChoiceField(
        widget=forms.HiddenInput, choices=[(use.value, use.value) for use in Use]
    )

    def __init__(self, use: Use, person: Person, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        what = "Given to each" if use is Use.HOLE else "Given in all"
        most = FEED.high if use is Use.HOLE else MOST_IN_ALL
        self.ask(
            grams=MeasureField(Quantity(what, FEED.unit, FEED.low, most, required=True), person),
            happened_on=DayField(required=False, help_text="Empty means today."),
            note=NoteField(),
        )


class MaterialForm(PlainForm):
    """A material by the three numbers of its label."""

    name = TextField(label="Name on the bag", max_length=60)

    def __init__(self, person: Person, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.ask(**{name: MeasureField(wanted, person) for name, wanted in _LABEL})
        self.ask(
            density=MeasureField(
                DENSITY, person, help_text="Grams that a millilitre weighs. May stay empty."
            )
        )

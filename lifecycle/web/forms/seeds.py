"""Forms for seed lots: add one, test one, and say how many plants are wanted."""

from datetime import date
from typing import Any

from django import forms

from lifecycle.models import Membership, Plant, Variety
from lifecycle.records.crops.seeds import FIRST_YEAR, MOST_SEEDS
from lifecycle.web.door import rows
from lifecycle.web.forms.fields import (
    CountField,
    DayField,
    OnceForm,
    PlainForm,
    TemperatureField,
    TextField,
)

COLDEST_SOIL_C, WARMEST_SOIL_C = 0, 45


class LotForm(PlainForm):
    """A lot of seed, bought or saved."""

    name = TextField(label="Name of the lot", max_length=60, help_text="As on the packet.")

    def __init__(self, member: Membership, this_year: int, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.ask(
            variety=forms.ModelChoiceField(
                rows(Variety, member).order_by("name", "pk"), label="Variety"
            ),
            packed_year=CountField(
                label="Packed in year",
                low=FIRST_YEAR,
                high=this_year,
                required=False,
                help_text="The year of harvest for seed you saved. Empty when nobody knows.",
            ),
            saved_from=forms.ModelChoiceField(
                rows(Plant, member).order_by("name", "pk"),
                label="Saved from",
                required=False,
                empty_label="Not saved here",
            ),
        )
        self.order_fields(["variety", "name", "packed_year", "saved_from"])


class GerminationForm(OnceForm):
    """How many of so many seeds sprouted in a damp towel."""

    sown = CountField(label="Seeds laid out", low=1, high=MOST_SEEDS, initial=20)
    sprouted = CountField(label="Sprouted", low=0, high=MOST_SEEDS)

    def __init__(self, today: date, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.ask(tested_on=DayField(label="Counted on", initial=today))


class WantedForm(PlainForm):
    """For how many plants to sow, and how warm the seed will lie."""

    def __init__(self, member: Membership, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.ask(
            plants=CountField(label="Plants wanted", low=1, high=1000, required=False),
            soil_c=TemperatureField(
                label="Soil of the raising bench",
                unit=member.person.temperature,
                low_c=COLDEST_SOIL_C,
                high_c=WARMEST_SOIL_C,
                required=False,
            ),
        )

"""Forms of frost nights: why one is not needed, what came of it, and the covers of a site."""

from typing import Any

from django import forms

from lifecycle.care.frost_night import COVERS
from lifecycle.handbook import PROTECTIONS
from lifecycle.life.kinds import Quantity
from lifecycle.models import FrostNight, Person
from lifecycle.records.nights.covers import KEPT_LENGTH, LARGEST_M2, MOST_PIECES, SMALLEST_M2
from lifecycle.records.nights.frost import WHY_LENGTH
from lifecycle.records.weather.readings import COLDEST_C, HOTTEST_C
from lifecycle.web.forms.fields import (
    CountField,
    MeasureField,
    PlainForm,
    TemperatureField,
    TextField,
)

AREA = Quantity("One piece covers", "m2", SMALLEST_M2, LARGEST_M2, required=True)


class NotNeededForm(PlainForm):
    """Why nothing is to be done on a night that may bring frost."""

    why = TextField(label="Why it is not needed", max_length=WHY_LENGTH)


class HappenedForm(PlainForm):
    """The morning after: the lowest that was read, and what the plants show."""

    def __init__(self, person: Person, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.ask(
            lowest=TemperatureField(
                label="Lowest of the night",
                unit=person.temperature,
                low_c=COLDEST_C,
                high_c=HOTTEST_C,
                required=False,
            ),
            harm=forms.ChoiceField(
                label="What the plants show",
                required=False,
                choices=FrostNight.Harm.choices,
                widget=forms.RadioSelect,
            ),
        )


class CoverForm(PlainForm):
    """Covers of one kind."""

    protection = forms.ChoiceField(
        label="Kind", choices=[(key, PROTECTIONS[key].label) for key in COVERS]
    )
    kept_in = TextField(label="Where they are kept", max_length=KEPT_LENGTH, required=False)

    def __init__(self, person: Person, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.ask(
            pieces=CountField(label="Pieces", low=1, high=MOST_PIECES),
            area_m2=MeasureField(AREA, person),
        )
        self.order_fields(["protection", "pieces", "area_m2", "kept_in"])

"""Forms for what a bed is made of, what stood in it, and a day's readings."""

from datetime import date
from typing import Any

from django import forms

from lifecycle.handbook import FAMILIES, SOILS
from lifecycle.life.kinds import Quantity
from lifecycle.models import Membership
from lifecycle.records.ground.ground import (
    DEEPEST_CM,
    EARLIEST_YEAR,
    LONGEST_M,
    SHALLOWEST_CM,
    SHORTEST_M,
)
from lifecycle.records.weather.readings import COLDEST_C, HOTTEST_C, MOST_RAIN_MM
from lifecycle.web.forms.fields import (
    CountField,
    DayField,
    MeasureField,
    PlainForm,
    TemperatureField,
    TextField,
)

LENGTH = Quantity("Length", "m", SHORTEST_M, LONGEST_M, required=True)
WIDTH = Quantity("Width", "m", SHORTEST_M, LONGEST_M, required=True)
DEPTH = Quantity("Depth of its soil", "cm", SHALLOWEST_CM, DEEPEST_CM)
RAIN = Quantity("Rain", "mm", 0, MOST_RAIN_MM)


class GroundForm(PlainForm):
    """How long, wide and deep a bed is, its soil, and what lies on and under it."""

    soil = forms.ChoiceField(
        label="Soil",
        required=False,
        choices=[("", "Not known"), *((key, soil.label) for key, soil in SOILS.items())],
    )
    mulched = forms.BooleanField(label="Mulched", required=False)
    wire = forms.BooleanField(
        label="Wire or another root barrier at the bottom of its soil", required=False
    )

    def __init__(self, member: Membership, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        person = member.person
        self.ask(
            length_m=MeasureField(LENGTH, person),
            width_m=MeasureField(WIDTH, person),
            depth_cm=MeasureField(
                DEPTH, person, help_text="Of a raised bed. Empty where it goes on into the ground."
            ),
        )
        self.order_fields(["length_m", "width_m", "depth_cm", "soil", "mulched", "wire"])


class YearForm(PlainForm):
    """A family that stood in a bed before the record."""

    family = forms.ChoiceField(label="Family", choices=list(FAMILIES.items()))
    note = TextField(label="Note", max_length=200, required=False)

    def __init__(self, this_year: int, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.ask(
            year=CountField(
                label="Growing year", low=EARLIEST_YEAR, high=this_year, initial=this_year - 1
            )
        )
        self.order_fields(["year", "family", "note"])


class ReadingForm(PlainForm):
    """A day at the site's gauge and thermometer; what nobody read stays empty."""

    def __init__(self, member: Membership, today: date, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        person = member.person
        self.ask(
            day=DayField(label="Day", initial=today),
            rain_mm=MeasureField(
                RAIN, person, help_text="0 for a dry day; empty when nobody looked."
            ),
            **{
                name: TemperatureField(
                    label=label,
                    unit=person.temperature,
                    low_c=COLDEST_C,
                    high_c=HOTTEST_C,
                    required=False,
                )
                for name, label in (("tmin_c", "Low of the day"), ("tmax_c", "High of the day"))
            },
        )

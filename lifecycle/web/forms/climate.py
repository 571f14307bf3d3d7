"""Forms for a site's weather: a station's file, typed dates, the next seven nights."""

from collections.abc import Sequence
from datetime import date
from typing import Any

from django import forms

from lifecycle.web.forms.fields import (
    DayField,
    MonthDayField,
    PlainForm,
    TemperatureField,
    TextField,
)

COLDEST_C, WARMEST_C = -60, 45


class RecordForm(PlainForm):
    """A station's daily minima and maxima as a file."""

    file = forms.FileField(
        label="Station file",
        help_text="GHCN-Daily, NCEI daily summaries, or a CSV with date, tmin and tmax. "
        "Plain or gzipped, at most 30 MB.",
        error_messages={
            "required": "Station file: choose a file.",
            "empty": "Station file: the file is empty. Choose another one.",
        },
    )
    name = TextField(
        label="Name of the station",
        max_length=120,
        required=False,
        help_text="Empty: the file's name.",
    )
    units = forms.ChoiceField(
        label="Temperatures in the file",
        required=False,
        choices=[
            ("", "As the file says"),
            ("C", "Degrees Celsius"),
            ("F", "Degrees Fahrenheit"),
            ("tenths", "Tenths of a degree Celsius"),
        ],
        widget=forms.RadioSelect,
    )


class TypedForm(PlainForm):
    """What a gardener knows of the site without a record."""

    last_freeze = MonthDayField(label="Last freeze in a middle year")
    first_freeze = MonthDayField(label="First freeze in a middle year")
    warm_from = MonthDayField(label="Nights stay warm from")
    cool_from = MonthDayField(label="Nights turn cool from")
    half_zone = TextField(
        label="Hardiness zone", max_length=3, required=False, help_text="A half-zone such as 7b."
    )
    zone_source = TextField(
        label="Map edition", max_length=80, required=False, help_text="Such as USDA 2023."
    )


class SevenNightsForm(PlainForm):
    """The lows a forecast gives for the next seven nights."""

    def __init__(self, unit: str, first: date, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        nights = {
            f"low_{index}": TemperatureField(
                label=f"Night {index + 1}", unit=unit, low_c=COLDEST_C, high_c=WARMEST_C
            )
            for index in range(7)
        }
        self.ask(first_night=DayField(label="First night", initial=first), **nights)

    def lows_c(self) -> list[float]:
        """Return the seven lows in C."""
        return [self.cleaned_data[f"low_{index}"] for index in range(7)]


def nights_typed(first: date, lows_c: Sequence[float]) -> dict[str, Any]:
    """Return seven nights typed before as the first content of the form."""
    return {"first_night": first, **{f"low_{index}": low for index, low in enumerate(lows_c)}}

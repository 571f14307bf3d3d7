"""Forms for where a site's forecasts come from, and for last night's low."""

from typing import Any

from django import forms

from lifecycle.models import ForecastSource, Person
from lifecycle.records.weather.readings import COLDEST_C, HOTTEST_C
from lifecycle.web.forms.fields import PlainForm, TemperatureField, TextField


class SourceForm(PlainForm):
    """Which service, file or people tell the coming nights of a site."""

    kind = forms.ChoiceField(
        label="Source", choices=ForecastSource.Kind.choices, widget=forms.RadioSelect
    )
    file_name = TextField(
        label="Name of the file",
        max_length=80,
        required=False,
        help_text="Only for a file: its name in the forecast folder, such as canal-bank.csv.",
    )


class OvernightForm(PlainForm):
    """The low of the night that ended this morning."""

    def __init__(self, person: Person, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.ask(
            low_c=TemperatureField(
                label="Lowest last night",
                unit=person.temperature,
                low_c=COLDEST_C,
                high_c=HOTTEST_C,
            )
        )

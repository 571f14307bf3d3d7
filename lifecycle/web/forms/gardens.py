"""Forms for the first run, sites, places, people and tasks."""

from datetime import date
from typing import Any
from zoneinfo import available_timezones

from django import forms

from lifecycle.models import Membership, PlaceKind
from lifecycle.web.forms.choices import site_choice
from lifecycle.web.forms.fields import CountField, PlainForm, TemperatureField, TextField
from lifecycle.web.forms.public import PublicForm


class DegreesField(forms.FloatField):
    """A latitude or a longitude with its bounds in the error."""

    widget = forms.TextInput(attrs={"inputmode": "text", "class": "short", "autocomplete": "off"})

    def __init__(self, *, label: str, low: float, high: float, **kwargs: Any) -> None:
        sentence = f"{label}: give degrees from {low:g} to {high:g}, such as 41.4."
        messages = dict.fromkeys(("invalid", "min_value", "max_value", "required"), sentence)
        super().__init__(
            label=label, min_value=low, max_value=high, error_messages=messages, **kwargs
        )

    def to_python(self, value: Any) -> Any:
        """Return degrees; a comma is a decimal one, for no degrees reach a thousand."""
        text = str(value).strip() if value is not None else ""
        typed = text.replace(",", ".", 1).replace("−", "-")
        return super().to_python(typed)


class ZoneField(forms.ChoiceField):
    """A time zone by its name."""

    def __init__(self) -> None:
        names = sorted(zone for zone in available_timezones() if "/" in zone or zone == "UTC")
        super().__init__(
            label="Time zone", choices=[(name, name.replace("_", " ")) for name in names]
        )


class GroundForm(PlainForm):
    """A piece of ground: where it lies and which clock it follows."""

    site_name = TextField(label="Name of the site", max_length=60)
    latitude = DegreesField(
        label="Latitude",
        low=-66,
        high=72,
        help_text="Degrees north; south of the equator negative.",
    )
    longitude = DegreesField(
        label="Longitude",
        low=-180,
        high=180,
        required=False,
        help_text="Degrees east; west negative. May stay empty.",
    )
    time_zone = ZoneField()


class SiteForm(GroundForm):
    """Another site of the garden."""

    year_starts_in = forms.TypedChoiceField(
        label="Growing year starts in",
        choices=[(month, f"{date(2001, month, 1):%B}") for month in range(1, 13)],
        coerce=int,
        help_text="January suits the north, July the south.",
    )


class FirstRunForm(GroundForm, PublicForm):
    """The first person, the garden and its first site."""

    garden_name = TextField(label="Name of the garden", max_length=60)
    person_name = TextField(
        label="Your name", max_length=60, widget=forms.TextInput(attrs={"autocomplete": "name"})
    )
    email = forms.EmailField(
        label="Your e-mail address",
        max_length=254,
        widget=forms.EmailInput(attrs={"autocomplete": "username"}),
    )
    password = forms.CharField(
        label="Password",
        strip=False,
        max_length=1024,
        help_text="At least 8 characters, and not a common one.",
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )
    field_order = ["garden_name", "person_name", "email", "password"]


class PlaceForm(PlainForm):
    """A bed, a bench, a raising bench or winter quarters."""

    name = TextField(label="Name", max_length=60)
    kind = forms.ChoiceField(label="Kind", choices=PlaceKind.choices, widget=forms.RadioSelect)
    position = CountField(
        label="Walking order", low=0, high=32_000, initial=1, help_text="1 is met first on a round."
    )
    bright = forms.BooleanField(label="Bright enough to grow on in winter", required=False)

    def __init__(self, member: Membership, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.ask(
            temperature_c=TemperatureField(
                label="Winter temperature",
                unit=member.person.temperature,
                low_c=-10,
                high_c=45,
                required=False,
                help_text="For places under a roof. May stay empty.",
            )
        )
        self.ask(site=site_choice(member))
        self.order_fields(["site", "name", "kind", "position", "temperature_c", "bright"])

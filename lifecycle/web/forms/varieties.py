"""Forms that add a variety, and set its own values beside the published ones."""

from typing import Any

from django import forms

from lifecycle.handbook import CROPS, SOURCES
from lifecycle.handbook.crops import BOUNDS
from lifecycle.handbook.facts import MARKS
from lifecycle.life.kinds import Quantity
from lifecycle.models import Membership, Person, Variety
from lifecycle.records.crops.varieties import offered
from lifecycle.web.forms.choices import species_choice
from lifecycle.web.forms.fields import MeasureField, PlainForm, TemperatureField, TextField
from lifecycle.web.words import amount, both_units

DAYS_IN_WEEK = 7
LABELS = {name: bounds.label for name, bounds in BOUNDS.items()}


class AddVarietyForm(PlainForm):
    """A variety new to the garden."""

    name = TextField(label="Variety", max_length=60)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.ask(species=species_choice())
        self.order_fields(["species", "name"])


class ValuesForm(PlainForm):
    """A variety's own values; an empty field leaves the published one in force."""

    def __init__(self, member: Membership, variety: Variety, *args: Any, **kwargs: Any) -> None:
        person = member.person
        initial = {
            name: _scaled(name, value, 1 / DAYS_IN_WEEK)
            for name, value in variety.overrides.items()
        }
        super().__init__(*args, initial=initial, **kwargs)
        for name in offered(variety):
            hint = f"Published: {published_words(variety, name, person)}. Empty: that counts."
            self.ask(**{name: _field(name, person, hint)})

    def values(self) -> dict[str, float | None]:
        """Return the values in SI; None where the published one is to count."""
        return {
            name: None if value is None else _scaled(name, value, DAYS_IN_WEEK)
            for name, value in self.cleaned_data.items()
        }


def _field(name: str, person: Person, hint: str) -> forms.Field:
    bounds = BOUNDS[name]
    if bounds.unit == "C":
        return TemperatureField(
            label=bounds.label,
            unit=person.temperature,
            low_c=bounds.low,
            high_c=bounds.high,
            required=False,
            help_text=hint,
        )
    low, high = (_scaled(name, edge, 1 / DAYS_IN_WEEK) for edge in (bounds.low, bounds.high))
    asked = Quantity(bounds.label, _unit(name), low, high)
    return MeasureField(asked, person, required=False, help_text=hint)


def value_words(name: str, value: float, person: Person) -> str:
    """Return a value kept in SI as the reader reads it."""
    if BOUNDS[name].unit == "C":
        return both_units(value, person)
    return amount(round(_scaled(name, value, 1 / DAYS_IN_WEEK), 1), _unit(name), person)


def published_words(variety: Variety, name: str, person: Person) -> str:
    """Return the published value, or its range, with its source and how sure it is."""
    fact = CROPS[variety.species].find(name)
    if fact is None:
        return "nothing"
    words = value_words(name, fact.si, person)
    if fact.si_to is not None:
        words = f"{words} to {value_words(name, fact.si_to, person)}"
    return f"{words} ({SOURCES[fact.source]}; {MARKS[fact.mark]})"


def _unit(name: str) -> str:
    return "weeks" if name == "sow_weeks" else BOUNDS[name].unit


def _scaled(name: str, value: float, by: float) -> float:
    return value * by if name == "sow_weeks" else value

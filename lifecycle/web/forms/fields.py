"""Fields that take what people type at a bed, and forms that put errors beside them."""

import re
from datetime import UTC, date, datetime
from typing import Any
from uuid import uuid4

from django import forms
from django.forms.renderers import DjangoTemplates
from django.template import loader

from lifecycle.care.wording import CM_IN_INCH, GRAMS_IN_OUNCE, SQ_FT_IN_M2
from lifecycle.life.kinds import Quantity
from lifecycle.models import Person
from lifecycle.web.forms.typed_numbers import number, plain, two_ways

_MEASURE = re.compile(
    r"([-−+]?[0-9]{1,9}(?:[.,][0-9]{1,9})?)\s*°?\s*([a-z%]*(?: ?ft)?[2²]?)\.?", re.IGNORECASE
)
_POUND = 16 * GRAMS_IN_OUNCE
# The unit kept -> what may be written for it, and what one of that is worth.
_SCALES: dict[str, dict[str, float]] = {
    "g": {"g": 1, "kg": 1000, "oz": GRAMS_IN_OUNCE, **dict.fromkeys(("lb", "lbs"), _POUND)},
    "mm": {"mm": 1, "cm": 10, "in": 10 * CM_IN_INCH},
    "cm": {"cm": 1, "mm": 0.1, "m": 100, "in": CM_IN_INCH, "ft": 12 * CM_IN_INCH},
    "m": {"m": 1, "cm": 0.01, "ft": 0.12 * CM_IN_INCH, "in": 0.01 * CM_IN_INCH},
    "m2": {"m2": 1, "m²": 1, **dict.fromkeys(("sq ft", "sqft", "ft2", "ft²"), 1 / SQ_FT_IN_M2)},
    "litre": dict.fromkeys(("l", "litre", "litres", "liter", "liters"), 1),
}
_LARGER = {"g": "kg", "oz": "lb"}
LARGE = 100_000
"""From so many grams on, a bound is said in the larger unit."""

_READS_IN_INCHES = {"g": "oz", "mm": "in", "cm": "in", "m": "ft", "m2": "sq ft"}


class PageRenderer(DjangoTemplates):
    """Finds the site's own form templates where pages find theirs, widgets where Django does."""

    form_template_name = "lifecycle/form.html"
    field_template_name = "lifecycle/field.html"

    def get_template(self, template_name: str) -> Any:
        """Return a template by its name."""
        own = template_name.startswith("lifecycle/")
        return loader.get_template(template_name) if own else super().get_template(template_name)


ROUNDED = 0.005
"""The share by which a bound said in three figures may miss itself."""


class PlainForm(forms.Form):
    """A form whose fields carry their label, hint and error in one block."""

    default_renderer = PageRenderer
    use_required_attribute = False

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.label_suffix = ""
        self.ask(**self.fields)

    def ask(self, **fields: forms.Field) -> None:
        """Add fields, their errors worded as sentences."""
        plain = forms.Field.default_error_messages["required"]
        for name, field in fields.items():
            label = field.label or name.capitalize()
            if field.error_messages.get("required") == plain:
                field.error_messages["required"] = f"{label}: give an answer."
            if "invalid_choice" in field.error_messages:
                field.error_messages["invalid_choice"] = f"{label}: choose one from the list."
            self.fields[name] = field


class OnceForm(PlainForm):
    """A form that writes once however often it is sent: it carries an id made by the server."""

    uuid = forms.UUIDField(
        widget=forms.HiddenInput,
        initial=uuid4,
        error_messages={
            "required": "This form lost its number on the way. Load the page again.",
            "invalid": "This form lost its number on the way. Load the page again.",
        },
    )


class DayField(forms.DateField):
    """A date from a calendar control, or typed with the month as a word."""

    widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("label", "When")
        kwargs.setdefault("input_formats", ["%Y-%m-%d", "%d %B %Y", "%d %b %Y", "%B %d %Y"])
        kwargs.setdefault(
            "error_messages",
            {"invalid": "The date was not understood. Give it as 2026-10-14 or 14 October 2026."},
        )
        super().__init__(**kwargs)


class TextField(forms.CharField):
    """One line of text with bounds that are said in a sentence."""

    def __init__(self, *, label: str, max_length: int, **kwargs: Any) -> None:
        kwargs.setdefault(
            "error_messages",
            {
                "max_length": f"{label}: keep it to {max_length} characters "
                "(it has %(show_value)d).",
                "null_characters_not_allowed": f"{label}: it holds a character nobody can read.",
            },
        )
        super().__init__(label=label, max_length=max_length, **kwargs)
        # The browser would cut a long text silently; the sentence is better.
        self.widget.attrs.pop("maxlength", None)

    def clean(self, value: Any) -> str:
        """Check the text; a NUL byte is refused with the field's own sentence."""
        if isinstance(value, str) and "\x00" in value:
            raise forms.ValidationError(self.error_messages["null_characters_not_allowed"])
        return str(super().clean(value))


class CountField(forms.IntegerField):
    """A whole number with its bounds in the error."""

    widget = forms.TextInput(
        attrs={"inputmode": "numeric", "class": "short", "autocomplete": "off"}
    )

    def __init__(self, *, label: str, low: int, high: int, **kwargs: Any) -> None:
        sentence = f"{label}: give a whole number from {low} to {high}."
        messages = dict.fromkeys(("invalid", "min_value", "max_value", "required"), sentence)
        super().__init__(
            label=label, min_value=low, max_value=high, error_messages=messages, **kwargs
        )


class MeasureField(forms.CharField):
    """A quantity typed in the reader's unit, or with a unit of its own, kept in SI."""

    widget = forms.TextInput(
        attrs={"inputmode": "decimal", "class": "short", "autocomplete": "off"}
    )

    def __init__(self, quantity: Quantity, person: Person, **kwargs: Any) -> None:
        self.quantity = quantity
        inches = person.length == Person.Length.INCHES
        self.unit = _READS_IN_INCHES.get(quantity.unit, quantity.unit) if inches else quantity.unit
        self.scale = _SCALES.get(quantity.unit, {quantity.unit: 1})
        shown = "" if quantity.unit == "count" else f" ({self.unit})"
        kwargs.setdefault("required", quantity.required)
        super().__init__(
            label=f"{quantity.label}{shown}", error_messages={"required": self.sentence()}, **kwargs
        )

    def sentence(self) -> str:
        """Return the sentence that says what may be given."""
        whole = "a whole number from " if self.quantity.whole else ""
        (low, low_unit), (high, unit) = map(self._bound, (self.quantity.low, self.quantity.high))
        if low_unit != unit:
            low = f"{low} {low_unit}"
        given = high if unit == "count" else f"{high} {unit}"
        return f"{self.quantity.label}: give {whole}{low} to {given}."

    def prepare_value(self, value: Any) -> Any:
        """Show a quantity kept in SI in the reader's unit; typed text stays as it is."""
        return self._shown(value) if isinstance(value, (int, float)) else value

    def clean(self, value: Any) -> Any:
        """Return the quantity in SI, or None when nothing was typed."""
        text = str(value or "").strip()
        if not text:
            if self.required:
                raise forms.ValidationError(self.sentence())
            return None
        found = _MEASURE.fullmatch(text)
        unit = (found[2].lower() or self.unit) if found else ""
        worth = self.scale.get(unit)
        if found is None or worth is None:
            raise forms.ValidationError(self.sentence())
        doubt = two_ways(found[1])
        if doubt:
            raise forms.ValidationError(f"{self.quantity.label}: {doubt}")
        amount = self._clipped(round(number(found[1]) * worth, 4), worth)
        inside = self.quantity.low <= amount <= self.quantity.high
        if not inside or (self.quantity.whole and amount != int(amount)):
            raise forms.ValidationError(self.sentence())
        return amount

    def _clipped(self, amount: float, worth: float) -> float:
        """Take the bound itself for what was typed as the bound that the sentence rounds."""
        if worth == 1:
            return amount
        for bound in (self.quantity.low, self.quantity.high):
            if abs(amount - bound) <= ROUNDED * abs(bound):
                return bound
        return amount

    def _bound(self, kept: float) -> tuple[str, str]:
        """Return a bound and its unit as the sentence says them, a large one in the larger unit.

        It has three figures where it was converted.
        """
        unit = _LARGER.get(self.unit, self.unit) if kept >= LARGE else self.unit
        if self.unit == self.quantity.unit:
            return plain(kept / self.scale[unit]), unit
        return plain(kept / self.scale[unit], 3), unit

    def _shown(self, kept: float) -> str:
        return plain(kept / self.scale[self.unit])


class TemperatureField(forms.CharField):
    """A temperature typed in the reader's unit, or with a unit of its own, kept in C."""

    widget = forms.TextInput(attrs={"inputmode": "text", "class": "short", "autocomplete": "off"})

    def __init__(
        self, *, label: str, unit: str, low_c: float, high_c: float, **kwargs: Any
    ) -> None:
        self.unit, self.low_c, self.high_c, self.name = unit, low_c, high_c, label
        super().__init__(
            label=f"{label} (°{unit})", error_messages={"required": self.sentence()}, **kwargs
        )

    def sentence(self) -> str:
        """Return the sentence that says what may be given."""
        low, high = self._shown(self.low_c), self._shown(self.high_c)
        return f"{self.name}: give a temperature from {low} to {high} °{self.unit}."

    def prepare_value(self, value: Any) -> Any:
        """Show a temperature kept in C in the reader's unit; typed text stays as it is."""
        return self._shown(value) if isinstance(value, (int, float)) else value

    def clean(self, value: Any) -> Any:
        """Return the temperature in C, or None when nothing was typed."""
        text = str(value or "").strip()
        if not text and not self.required:
            return None
        found = _MEASURE.fullmatch(text)
        unit = (found[2].upper() or self.unit) if found else ""
        if found is None or unit not in ("C", "F"):
            raise forms.ValidationError(self.sentence())
        typed = number(found[1])
        kept = (typed - 32) / 1.8 if unit == "F" else typed
        # A bound read back from the sentence may miss itself in the last place.
        if not self.low_c - 0.05 <= kept <= self.high_c + 0.05:
            raise forms.ValidationError(self.sentence())
        return min(max(kept, self.low_c), self.high_c)

    def _shown(self, kept_c: float) -> str:
        return plain(kept_c * 1.8 + 32 if self.unit == "F" else kept_c, 4)


class NoteField(TextField):
    """A few words beside an entry."""

    def __init__(self, label: str = "Note", max_length: int = 500, **kwargs: Any) -> None:
        kwargs.setdefault("required", False)
        super().__init__(
            label=label, max_length=max_length, widget=forms.Textarea(attrs={"rows": 3}), **kwargs
        )


class MonthDayField(forms.CharField):
    """A day of the year without a year, kept as MM-DD."""

    widget = forms.TextInput(attrs={"class": "short", "autocomplete": "off"})

    def __init__(self, *, label: str) -> None:
        self.name = label
        super().__init__(label=label, required=False)

    def prepare_value(self, value: Any) -> Any:
        """Show a kept MM-DD with its month as a word; typed text stays as it is."""
        try:
            day = date.fromisoformat(f"2000-{value}")
        except ValueError:
            return value
        return f"{day.day} {day:%B}"

    def clean(self, value: Any) -> str:
        """Return MM-DD, or nothing when nothing was typed."""
        text = " ".join(str(value or "").split())
        if not text:
            return ""
        for pattern in ("%m-%d %Y", "%d %B %Y", "%d %b %Y", "%B %d %Y", "%b %d %Y"):
            try:
                found = datetime.strptime(f"{text[:30]} 2000", pattern).replace(tzinfo=UTC)
            except ValueError:
                continue
            return f"{found:%m-%d}"
        raise forms.ValidationError(f"{self.name}: give a day and a month, such as 12 May.")

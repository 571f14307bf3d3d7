"""Forms of harvest given away and of one's own hours."""

import re
from datetime import date
from typing import Any

from django import forms

from lifecycle.handbook import CROPS
from lifecycle.life.kinds import Quantity
from lifecycle.models import GivenAway, Membership
from lifecycle.records.year.giving import HEAVIEST_G, LIGHTEST_G, NOTE_LENGTH
from lifecycle.records.year.hours import LONGEST_MINUTES, WHAT_LENGTH
from lifecycle.web.forms.choices import site_choice
from lifecycle.web.forms.fields import DayField, MeasureField, NoteField, OnceForm, TextField
from lifecycle.web.year.amounts import hours_words

WEIGHT = Quantity("Weight", "g", LIGHTEST_G, HEAVIEST_G, required=True)


class GivenForm(OnceForm):
    """What was given away, how much of it, to whom, and when."""

    to = forms.ChoiceField(
        label="Who got it", choices=GivenAway.To.choices, widget=forms.RadioSelect
    )
    species = forms.ChoiceField(
        label="What",
        required=False,
        choices=[("", "Mixed harvest"), *((key, crop.label) for key, crop in CROPS.items())],
    )
    note = NoteField(max_length=NOTE_LENGTH)

    def __init__(self, member: Membership, today: date, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.ask(
            grams=MeasureField(
                WEIGHT, member.person, help_text="Or with its unit: 2.5 kg, 12 oz, 3 lb."
            ),
            given_on=DayField(initial=today),
            site=site_choice(member),
        )
        self.order_fields(["uuid", "grams", "to", "species", "given_on", "site", "note"])
        sites: Any = self.fields["site"]
        if sites.queryset.count() == 1:
            only = sites.queryset.first()
            sites.widget, sites.initial = forms.HiddenInput(), only.pk


class TimeGivenField(forms.CharField):
    """Time as people write it: 1.5, 1:30, 1 h 30, 45 min; kept in whole minutes."""

    widget = forms.TextInput(attrs={"inputmode": "text", "class": "short", "autocomplete": "off"})
    sentence = "Time: give hours such as 1.5 or 1:30, or minutes such as 45 min."
    _FORMS = (
        (re.compile(r"(\d{1,4}) ?(?:min|minutes?)"), 0, 1),
        (re.compile(r"(\d{1,2}):([0-5]\d)"), 1, 2),
        (re.compile(r"(\d{1,2}) ?(?:h|hours?) ?([0-5]?\d) ?(?:min|minutes?)?"), 1, 2),
    )
    _HOURS = re.compile(r"(\d{1,4}(?:[.,]\d{1,2})?) ?(?:h|hours?)?")

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(
            label="Time",
            help_text="Hours such as 1.5 or 1:30, or minutes such as 45 min.",
            error_messages={"required": self.sentence},
            **kwargs,
        )

    def clean(self, value: Any) -> Any:
        """Return whole minutes within a day."""
        minutes = self._minutes(" ".join(str(value or "").lower().split()).rstrip("."))
        if minutes is None:
            raise forms.ValidationError(self.sentence)
        if minutes < 1:
            raise forms.ValidationError("Time: that is no time. Give one minute or more.")
        if minutes > LONGEST_MINUTES:
            raise forms.ValidationError(
                f"Time: {hours_words(minutes)} is more than a day has. For minutes write min after "
                "them, such as 45 min."
            )
        return minutes

    def _minutes(self, text: str) -> int | None:
        for pattern, hours, minutes in self._FORMS:
            found = pattern.fullmatch(text)
            if found is not None:
                return (int(found[hours]) * 60 if hours else 0) + int(found[minutes])
        found = self._HOURS.fullmatch(text)
        return None if found is None else round(float(found[1].replace(",", ".")) * 60)


class HoursForm(OnceForm):
    """Time that the reader gave on a day."""

    minutes = TimeGivenField()
    what = TextField(label="What you did", max_length=WHAT_LENGTH, required=False)

    def __init__(self, today: date, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.ask(worked_on=DayField(initial=today))
        self.order_fields(["uuid", "minutes", "worked_on", "what"])

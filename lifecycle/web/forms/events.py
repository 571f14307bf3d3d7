"""Forms that report bad weather at a site, end it, and withdraw it."""

from datetime import date
from typing import Any

from django import forms

from lifecycle.models import SiteEventRow
from lifecycle.web.forms.fields import DayField, NoteField, PlainForm


class EventForm(PlainForm):
    """What befell the site, and when."""

    weather = forms.ChoiceField(
        label="What befell the site",
        choices=SiteEventRow.Weather.choices,
        widget=forms.RadioSelect,
    )

    def __init__(self, today: date, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, initial={"began_on": today}, **kwargs)
        self.ask(
            began_on=DayField(label="First day"),
            ended_on=DayField(label="Last day", required=False, help_text="Empty while it lasts."),
            note=NoteField(),
        )


class EndForm(PlainForm):
    """The last day of weather that was still going on."""

    def __init__(self, today: date, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, initial={"ended_on": today}, **kwargs)
        self.ask(ended_on=DayField(label="Last day"))


class WithdrawForm(PlainForm):
    """Why a report was a mistake."""

    reason = NoteField("Why it is withdrawn", 200, required=True)

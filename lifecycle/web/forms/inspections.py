"""Forms of the inspection log."""

from datetime import date
from typing import Any

from django import forms

from lifecycle.handbook import fact
from lifecycle.records.ground.inspections import FINDING_LENGTH, default_notice
from lifecycle.web.forms.fields import DayField, NoteField, PlainForm

IN_ORDER, TO_DO = "in_order", "to_do"


class LookForm(PlainForm):
    """What was found at a bed, and by when it is to be put right."""

    found = forms.ChoiceField(
        label="What you found",
        choices=[(IN_ORDER, "In order"), (TO_DO, "Something to put right")],
        widget=forms.RadioSelect,
    )
    finding = NoteField("What is to be put right", FINDING_LENGTH)

    def __init__(self, today: date, *args: Any, **kwargs: Any) -> None:
        super().__init__(
            *args,
            initial={"looked_on": today, "put_right_by": today + default_notice()},
            **kwargs,
        )
        given = fact("notice.given")
        self.ask(
            looked_on=DayField(label="Looked at on"),
            put_right_by=DayField(
                label="Put right by",
                required=False,
                help_text=f"Gardens’ own rules give {given.value:.0f} days to a month.",
            ),
        )
        self.order_fields(["looked_on", "found", "finding", "put_right_by"])

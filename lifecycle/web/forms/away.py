"""Forms of days away: from when to when, and who covers."""

from datetime import date
from typing import Any

from django import forms

from lifecycle.models import Membership
from lifecycle.web.forms.choices import workers_of
from lifecycle.web.forms.fields import DayField, PlainForm


class AwayForm(PlainForm):
    """Days away, and who is asked to cover; a coordinator may enter them for somebody else."""

    def __init__(self, member: Membership, today: date, *, leads: bool, data: Any = None) -> None:
        super().__init__(data, initial={"first_day": today, "last_day": today}, prefix="away")
        workers = workers_of(member)
        self.ask(
            first_day=DayField(label="First day away"),
            last_day=DayField(label="Last day away"),
            cover=forms.ModelChoiceField(
                workers if leads else workers.exclude(pk=member.person_id),
                label="Who covers",
                required=False,
                empty_label="Nobody",
                help_text="They are asked first. Your tasks on these days go to them, and back.",
            ),
        )
        if leads:
            self.ask(
                person=forms.ModelChoiceField(
                    workers, label="Who is away", required=False, empty_label="I myself"
                )
            )
            self.order_fields(["person", "first_day", "last_day", "cover"])


class CoverForm(PlainForm):
    """Who else is asked to cover."""

    def __init__(self, member: Membership, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.ask(
            cover=forms.ModelChoiceField(
                workers_of(member), label="Ask to cover", empty_label="Choose a member"
            )
        )

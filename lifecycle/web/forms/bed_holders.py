"""Forms of a bed's holders: add one, and end a holding."""

from datetime import date
from typing import Any

from lifecycle.models import Membership
from lifecycle.web.forms.choices import member_choice
from lifecycle.web.forms.fields import DayField, PlainForm


class HoldForm(PlainForm):
    """Who takes a bed up, and since when."""

    def __init__(self, member: Membership, today: date, data: Any = None) -> None:
        super().__init__(data, initial={"since": today}, prefix="hold")
        self.ask(
            person=member_choice(member, "Who", empty_label="Choose a member"),
            since=DayField(label="Since"),
        )


class LetGoForm(PlainForm):
    """The day on which a holding ends; the person is that of the row it stands in."""

    def __init__(self, today: date, number: int, data: Any = None) -> None:
        super().__init__(data, initial={"until": today}, prefix=f"end{number}")
        self.ask(until=DayField(label="Until"))

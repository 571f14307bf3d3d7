"""Forms of the rota: take a turn, and change one."""

from datetime import date, timedelta
from typing import Any

from django import forms

from lifecycle.models import Membership, OnCallTurn
from lifecycle.records.nights.rota import LAST_POSITION
from lifecycle.web.forms.choices import member_choice, site_choice
from lifecycle.web.forms.fields import CountField, DayField, PlainForm

WAKES = "I may be woken between 21:00 and 07:00 when plants would die"
WAKES_HINT = (
    "Only when it gets materially colder than you were told, only while something can still be "
    "done, at most once a night and twice a month, and never from an old forecast."
)


class TurnForm(PlainForm):
    """Days on call; a coordinator may take them for somebody else."""

    def __init__(self, member: Membership, today: date, *, leads: bool, data: Any = None) -> None:
        monday = today - timedelta(today.weekday())
        super().__init__(
            data, initial={"first_day": today, "last_day": monday + timedelta(6)}, prefix="turn"
        )
        self.ask(
            site=site_choice(member),
            first_day=DayField(label="First day"),
            last_day=DayField(label="Last day"),
            wakes=_wakes(),
        )
        if leads:
            self.ask(
                person=member_choice(
                    member,
                    "Who",
                    required=False,
                    empty_label="I myself",
                    help_text="Only they themselves can allow to be woken.",
                )
            )
        self.order_fields(["site", "person", "first_day", "last_day", "wakes"])


class ChangeTurnForm(PlainForm):
    """The days of a turn, the order of asking, and whether its person may be woken."""

    def __init__(self, turn: OnCallTurn, *, own: bool, leads: bool, data: Any = None) -> None:
        super().__init__(
            data,
            initial={
                "first_day": turn.first_day,
                "last_day": turn.last_day,
                "position": turn.position,
                "wakes": turn.wakes,
            },
        )
        self.ask(first_day=DayField(label="First day"), last_day=DayField(label="Last day"))
        if leads:
            self.ask(
                position=CountField(
                    label="Asked in this order", low=1, high=LAST_POSITION, help_text="1 is first."
                )
            )
        if own:
            self.ask(wakes=_wakes())


def _wakes() -> forms.BooleanField:
    return forms.BooleanField(label=WAKES, help_text=WAKES_HINT, required=False)

"""Forms that write, correct and strike entries."""

from datetime import date
from typing import Any
from uuid import UUID

from django import forms

from lifecycle.life.kinds import Kind, KindRule
from lifecycle.models import Entry, Membership
from lifecycle.records.crops.drafts import Draft
from lifecycle.web.forms.choices import PlaceChoice
from lifecycle.web.forms.fields import (
    CountField,
    DayField,
    MeasureField,
    NoteField,
    OnceForm,
    PlainForm,
    TextField,
)

_ROOF = {Kind.PLANTED_OUT: False, Kind.WINTER_QUARTERS: True}


class EntryForm(OnceForm):
    """One entry of one kind: it asks only for what that kind takes."""

    def __init__(
        self, rule: KindRule, member: Membership, today: date, *args: Any, **kwargs: Any
    ) -> None:
        self.rule, self.today = rule, today
        initial = {"happened_on": today, **(kwargs.pop("initial", None) or {})}
        super().__init__(*args, initial=initial, **kwargs)
        self.ask(**_asked(rule, member))

    def draft(self, uuid: UUID | None = None) -> Draft:
        """Return what was typed as a draft; an empty date is today."""
        typed = self.cleaned_data
        return Draft(
            kind=self.rule.kind,
            happened_on=typed.get("happened_on") or self.today,
            uuid=uuid or typed["uuid"],
            quantity=typed.get("quantity"),
            choice=typed.get("choice", ""),
            place=typed.get("place"),
            note=typed.get("note", ""),
        )


def _asked(rule: KindRule, member: Membership) -> dict[str, forms.Field]:
    fields: dict[str, forms.Field] = {}
    if rule.choices:
        fields["choice"] = forms.ChoiceField(
            label=rule.choice_label, choices=list(rule.choices.items()), widget=forms.RadioSelect
        )
    if rule.quantity is not None:
        fields["quantity"] = MeasureField(rule.quantity, member.person)
    if rule.needs_place or rule.begins:
        fields["place"] = PlaceChoice(
            member, sheltered=_ROOF.get(rule.kind), required=rule.needs_place
        )
    fields["happened_on"] = DayField(required=False, help_text="Empty means today.")
    fields["note"] = NoteField()
    return fields


class CorrectForm(EntryForm):
    """A correction: the entry as it should have been, and why."""

    def __init__(
        self, rule: KindRule, member: Membership, today: date, *args: Any, **kwargs: Any
    ) -> None:
        super().__init__(rule, member, today, *args, **kwargs)
        self.ask(reason=TextField(label="Why it is corrected", max_length=200, required=False))


def as_typed(entry: Entry) -> dict[str, Any]:
    """Return an entry as the first content of a form that corrects it."""
    return {
        "happened_on": entry.happened_on,
        "quantity": entry.quantity,
        "choice": entry.choice,
        "place": entry.place_id,
        "note": entry.note,
    }


class StrikeForm(PlainForm):
    """Why an entry is struck through."""

    reason = TextField(label="Why it is struck through", max_length=200, required=False)


class SplitForm(OnceForm):
    """When a pair was split."""

    happened_on = DayField()


class CuttingsForm(OnceForm):
    """How many cuttings were struck, and where they stand."""

    number = CountField(label="How many cuttings", low=1, high=50, initial=1)

    def __init__(self, member: Membership, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.ask(place=PlaceChoice(member, label="Where they stand"))
        self.ask(happened_on=DayField())


class SeedForm(OnceForm):
    """Seed kept of a plant."""

    name = TextField(label="Name of the seed lot", max_length=60)
    seeds = CountField(label="Seeds kept", low=1, high=100_000, required=False)
    happened_on = DayField()

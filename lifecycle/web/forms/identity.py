"""Forms that doubt which plant something is, settle it, and take that back."""

from datetime import date
from typing import Any

from django import forms

from lifecycle.life.kinds import RULES, Kind
from lifecycle.models import Membership, Plant, Variety
from lifecycle.web.door import rows
from lifecycle.web.forms.fields import DayField, NoteField, OnceForm, PlainForm, TextField


class PlantField(TextField):
    """A plant of the garden by the code on its label, or by its name where only one has it."""

    widget = forms.TextInput(attrs={"autocomplete": "off"})

    def __init__(self, member: Membership, **kwargs: Any) -> None:
        self.member = member
        kwargs.setdefault("help_text", "The six characters on its label, or its name.")
        super().__init__(max_length=60, **kwargs)

    def prepare_value(self, value: Any) -> Any:
        """Show a plant known before by its code; typed text stays as it is."""
        return value.code if isinstance(value, Plant) else value

    def clean(self, value: Any) -> Any:
        """Return the plant, or None when nothing was typed."""
        text = " ".join(super().clean(value).split())
        if not text:
            return None
        plants = rows(Plant, self.member).order_by("pk")
        found = list(plants.filter(code=text.upper())) or list(plants.filter(name__iexact=text)[:2])
        if not found:
            raise forms.ValidationError(
                f"{self.label}: no plant here has that code or name. Give the code on its label."
            )
        if len(found) > 1:
            raise forms.ValidationError(
                f"{self.label}: several plants have that name. Give the code on the label."
            )
        return found[0]


def _choices(kind: Kind) -> forms.ChoiceField:
    rule = RULES[kind]
    return forms.ChoiceField(
        label=rule.choice_label, choices=list(rule.choices.items()), widget=forms.RadioSelect
    )


class DoubtForm(OnceForm):
    """Why nobody is sure which plant this is."""

    def __init__(self, member: Membership, today: date, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, initial={"happened_on": today}, **kwargs)
        self.ask(
            why=_choices(Kind.IN_DOUBT),
            other=PlantField(
                member,
                label="The other plant",
                required=False,
                help_text="Where two may have swapped: the code on its label, or its name.",
            ),
            happened_on=DayField(label="When it was noticed"),
            note=NoteField(),
        )


LABEL, VARIETY, NOT_SWAPPED, SWAPPED = "label", "variety", "not_swapped", "swapped"


class SettleForm(OnceForm):
    """What a plant turned out to be, and how that was seen."""

    def __init__(
        self,
        member: Membership,
        plant: Plant,
        other: Plant | None,
        today: date,
        *args: Any,
        **kwargs: Any,
    ) -> None:
        answer = SWAPPED if other else LABEL
        initial = {"happened_on": today, "other": other, "answer": answer}
        super().__init__(*args, initial=initial, **kwargs)
        self.ask(
            answer=forms.ChoiceField(
                label="What it is",
                choices=[
                    (LABEL, f"{plant.label_variety}, as its label says"),
                    (VARIETY, "Another variety"),
                    (NOT_SWAPPED, "It had not swapped with the other plant"),
                    (SWAPPED, "It had swapped with the other plant"),
                ],
                widget=forms.RadioSelect,
            ),
            how=_choices(Kind.SETTLED),
            variety=forms.ModelChoiceField(
                rows(Variety, member).order_by("name", "pk"),
                label="Which variety",
                required=False,
                empty_label="Choose a variety",
                help_text="Only where it is another one.",
            ),
            other=PlantField(member, label="The other plant", required=False),
            since=DayField(
                label="Swapped since",
                required=False,
                help_text="The first day on which each stood under the other's label.",
            ),
            until=DayField(
                label="Put right on",
                required=False,
                help_text="Empty: the labels are put right only now.",
            ),
            happened_on=DayField(label="When it was settled"),
            note=NoteField(),
        )

    def clean(self) -> dict[str, Any]:
        """Ask for what the answer needs."""
        typed = super().clean() or self.cleaned_data
        for field, answers, sentence in (
            ("variety", (VARIETY,), "Which variety: choose the one it turned out to be."),
            ("other", (NOT_SWAPPED, SWAPPED), "The other plant: give the code on its label."),
            ("since", (SWAPPED,), "Swapped since: give the first day, such as 2026-05-25."),
        ):
            if typed.get("answer") in answers and field in typed and typed[field] is None:
                self.add_error(field, sentence)
        return typed


class TakeBackForm(PlainForm):
    """Why something written on two plants is taken back."""

    reason = TextField(label="Why it is taken back", max_length=200)

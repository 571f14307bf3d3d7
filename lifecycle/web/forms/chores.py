"""Forms of chores: pick from the list, make one, change one."""

from datetime import date
from typing import Any

from django import forms

from lifecycle.care.chore_words import repeat_words
from lifecycle.care.chores import ANCHORED, SIDE, Repeat, is_on_wrong_side
from lifecycle.care.skills import SKILLS
from lifecycle.life.phases import Phase
from lifecycle.models import Chore, Membership, Plant, Site
from lifecycle.records.work.chores import (
    BOUNDS,
    HOW_LENGTH,
    TITLE_LENGTH,
    ChoreDraft,
    facts_of,
)
from lifecycle.web.door import rows
from lifecycle.web.forms.choices import PlaceChoice, site_choice
from lifecycle.web.forms.fields import CountField, DayField, NoteField, PlainForm, TextField


class StarterForm(PlainForm):
    """At which site the chores ticked are to be done."""

    def __init__(self, member: Membership, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.ask(site=site_choice(member))


class ChoreForm(PlainForm):
    """What is to be done, where, how often, and what it asks for."""

    title = TextField(label="What is to be done", max_length=TITLE_LENGTH)
    how = NoteField("How it is done", HOW_LENGTH)
    repeat = forms.ChoiceField(label="How often", choices=Chore.Repeat.choices)
    first_day = DayField(label="First day")
    last_day = DayField(label="Last day", required=False, help_text="Empty: it goes on.")
    at_time = forms.TimeField(
        label="At what time",
        required=False,
        help_text="On the site’s clock. Empty: any time of the day.",
        widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"),
        error_messages={"invalid": "The time was not understood. Give it as 18:30."},
    )
    skill = forms.ChoiceField(
        label="What it asks for", required=False, choices=[("", "Nothing special"), *SKILLS.items()]
    )
    field_order = [
        *("title", "site", "place", "plant", "repeat", "every", "first_day", "days_from_anchor"),
        *("days_open", "last_day", "at_time", "minutes", "skill", "how"),
    ]

    def __init__(
        self, member: Membership, *args: Any, chore: Chore | None = None, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        # Days on the other side of their freeze stay while nobody touches them.
        self.as_it_was = _on_wrong_side(chore)
        living = rows(Plant, member).exclude(phase=Phase.ENDED).order_by("name", "pk")
        self.ask(
            site=site_choice(member),
            place=PlaceChoice(member, required=False, empty_label="The whole site"),
            plant=_PlantChoice(
                living, label="One plant", required=False, empty_label="No single plant"
            ),
            every=_count("every", help_text="2: every other day, week, month or year."),
            days_from_anchor=_FreezeDaysField(),
            days_open=_count("days_open", help_text="0: on its day only."),
            minutes=_count("minutes", help_text="What it takes one person."),
        )
        if chore is not None and self.as_it_was:
            number = abs(chore.days_from_anchor)
            after = chore.days_from_anchor > 0
            right = f"−{number} puts it before" if after else f"{number} puts it after"
            now = f"Now: {repeat_words(facts_of(chore))} {right} that freeze."
            self.fields["days_from_anchor"].help_text = now
        self.order_fields(self.field_order)

    def clean(self) -> dict[str, Any]:
        """Set days from a freeze before the first or after the last, as the repeat says."""
        cleaned = super().clean() or self.cleaned_data
        repeat = cleaned.get("repeat", "")
        if repeat not in ANCHORED:
            return {**cleaned, "days_from_anchor": 0}
        if "days_from_anchor" not in cleaned:
            return cleaned
        number = cleaned["days_from_anchor"]
        if number is None:
            self.add_error("days_from_anchor", _FreezeDaysField.sentence)
        elif (repeat, number) == self.as_it_was:
            return cleaned
        elif number < 0 and repeat == Repeat.LAST_HARD_FREEZE:
            self.add_error("days_from_anchor", AFTER_THE_LAST)
        else:
            cleaned["days_from_anchor"] = SIDE[Repeat(repeat)] * abs(number)
        return cleaned

    def draft(self) -> ChoreDraft:
        """Return what was typed; numbers left empty are as they are for most."""
        typed = {name: value for name, value in self.cleaned_data.items() if value is not None}
        return ChoreDraft(**typed)


def _on_wrong_side(chore: Chore | None) -> tuple[str, int] | None:
    """Return the repeat and days of a chore that comes after a first freeze or before a last."""
    if chore is None or not is_on_wrong_side(Repeat(chore.repeat), chore.days_from_anchor):
        return None
    return chore.repeat, chore.days_from_anchor


AFTER_THE_LAST = (
    "Days from the freeze: after the last hard freeze, so give them without a minus, such as 7."
)


class _FreezeDaysField(CountField):
    """How many days before or after a freeze; a minus before them is understood, of any sort."""

    most = BOUNDS["days_from_anchor"][2]
    sentence = f"Days from the freeze: give a whole number from 0 to {most}."

    def __init__(self) -> None:
        label, low, high = BOUNDS["days_from_anchor"]
        super().__init__(
            label=label,
            low=low,
            high=high,
            required=False,
            help_text="For a chore by a hard freeze. 14: two weeks before the first one, or after "
            "the last.",
        )
        self.error_messages |= dict.fromkeys(("invalid", "min_value", "max_value"), self.sentence)

    def to_python(self, value: Any) -> int | None:
        """Return the number; a minus sign is one however it is typed."""
        typed = str(value if value is not None else "")
        return super().to_python(typed.replace("−", "-").replace("–", "-").replace("- ", "-"))


def _count(name: str, **kwargs: Any) -> CountField:
    label, low, high = BOUNDS[name]
    return CountField(label=label, low=low, high=high, required=False, **kwargs)


class _PlantChoice(forms.ModelChoiceField):  # type: ignore[type-arg]
    """A living plant of the garden."""

    def label_from_instance(self, obj: Any) -> str:
        """Return the plant with its code: names are not unique."""
        return f"{obj.name}, {obj.code}"


def new_chore(today: date, site: Site | None) -> dict[str, Any]:
    """Return what a new chore's form says first."""
    given = {"first_day": today, "every": 1, "days_open": 3, "minutes": 30}
    return {**given, "site": site}


def as_typed(chore: Chore) -> dict[str, Any]:
    """Return a chore as the first content of the form that changes it."""
    typed = {name: getattr(chore, name) for name in ChoreDraft.__slots__}
    if _on_wrong_side(chore) is None:
        typed["days_from_anchor"] = abs(chore.days_from_anchor)
    return typed

"""Forms for bed rules: of a site, and of one bed that may have its own."""

from typing import Any

from django import forms

from lifecycle.care.bed_rules import BedRules
from lifecycle.web.forms.fields import MonthDayField, PlainForm

OWN, OF_SITE = "own", "site"


class RulesForm(PlainForm):
    """The day to be clear by, perennials in the ground, and whether plots are kept."""

    def __init__(self, rules: BedRules, data: Any = None, **kwargs: Any) -> None:
        super().__init__(data, initial=_as_typed(rules) | kwargs.pop("initial", {}), **kwargs)
        day = MonthDayField(label="Must be clear by")
        day.help_text = (
            "Day and month of each year, such as 15 October. Leave it empty where beds need not be "
            "cleared. For the end of February give 28 February."
        )
        self.ask(
            clear_by=day,
            perennials_in_ground=forms.BooleanField(
                label="Perennials may stay in the ground over winter", required=False
            ),
            plots_kept=forms.BooleanField(
                label="Who holds a plot this year holds it the next", required=False
            ),
        )

    def rules(self) -> BedRules:
        """Return what was typed as rules."""
        typed = self.cleaned_data
        month, _, day = typed["clear_by"].partition("-")
        return BedRules(
            (int(month), int(day)) if day else None,
            typed["perennials_in_ground"],
            typed["plots_kept"],
        )


class OwnRulesForm(RulesForm):
    """The rules of one bed: those of its site, or its own."""

    def __init__(
        self, rules: BedRules, of_site: str, *, own: bool, data: Any = None, **kwargs: Any
    ) -> None:
        super().__init__(rules, data, initial={"whose": OWN if own else OF_SITE}, **kwargs)
        self.ask(
            whose=forms.ChoiceField(
                label="Which rules hold here",
                widget=forms.RadioSelect,
                choices=[(OF_SITE, f"Those of the site: {of_site}"), (OWN, "Its own, given below")],
            )
        )
        self.order_fields(["whose", "clear_by", "perennials_in_ground", "plots_kept"])

    def own_rules(self) -> BedRules | None:
        """Return the bed's own rules, or None where those of its site hold."""
        return self.rules() if self.cleaned_data["whose"] == OWN else None


def _as_typed(rules: BedRules) -> dict[str, Any]:
    day = rules.clear_by
    return {
        "clear_by": "" if day is None else f"{day[0]:02d}-{day[1]:02d}",
        "perennials_in_ground": rules.perennials_in_ground,
        "plots_kept": rules.plots_kept,
    }

"""The form of one setting where sources disagree."""

from collections.abc import Mapping
from typing import Any

from django import forms

from lifecycle.care.policy import Setting
from lifecycle.handbook import SOURCES
from lifecycle.web.forms.fields import PlainForm


class SettingForm(PlainForm):
    """The answers to one question, each with whose word it is.

    ``costs`` says of some answers what they would have cost here.
    """

    def __init__(
        self,
        setting: Setting,
        in_force: str,
        *args: Any,
        costs: Mapping[str, str] | None = None,
        **kwargs: Any,
    ) -> None:
        self.setting, self.in_force = setting, in_force
        self.answers = [
            (
                each.value,
                _words(each.label, each.source, each.value == setting.default)
                + (costs or {}).get(each.value, ""),
            )
            for each in setting.choices
        ]
        super().__init__(*args, initial={setting.key: in_force}, auto_id="%s-choice", **kwargs)
        self.ask(
            **{
                setting.key: forms.ChoiceField(
                    label=setting.question,
                    choices=self.answers,
                    widget=forms.RadioSelect,
                    help_text=setting.effect,
                )
            }
        )


def _words(label: str, source: str, default: bool) -> str:
    return f"{label}. {SOURCES.get(source, source)}.{' This is the default.' if default else ''}"

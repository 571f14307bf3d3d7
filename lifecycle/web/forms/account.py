"""Forms for signing in, showing again who one is, and one's password."""

from typing import Any

from django import forms
from django.contrib.auth.forms import AuthenticationForm, UsernameField

from lifecycle.web.forms.fields import PlainForm
from lifecycle.web.forms.public import PublicForm

NEW_PASSWORD_HINT = (  # nosec B105 # a hint
    "At least 8 characters, as long as you like, and not a common one. Three words that do not "
    "belong together are good."
)


class PasswordField(forms.CharField):
    """A password as it is typed: nothing is cut off, and there is no longest one."""

    def __init__(self, label: str, *, new: bool = False, **kwargs: Any) -> None:
        kept_as = "new-password" if new else "current-password"
        widget = forms.PasswordInput(attrs={"autocomplete": kept_as})
        super().__init__(label=label, strip=False, widget=widget, **kwargs)


class OwnDeviceField(forms.BooleanField):
    """Whether the device belongs to the person, who then stays signed in for long."""

    def __init__(self) -> None:
        super().__init__(
            label="This is my phone or computer",
            required=False,
            help_text="You stay signed in here for 90 days after you last came. Otherwise you are "
            "signed out after 12 hours.",
        )


class SignInForm(AuthenticationForm, PublicForm):
    """E-mail address and password; the error never says which of the two was wrong."""

    username = UsernameField(
        label="E-mail address",
        max_length=254,
        widget=forms.EmailInput(attrs={"autocomplete": "username", "autocapitalize": "none"}),
    )
    password = PasswordField("Password")
    own_device = OwnDeviceField()
    error_messages = {
        "invalid_login": "The address and the password do not belong together. Try again, "
        "or have a link mailed to you.",
    }


class LinkForm(PublicForm):
    """The address to which a link to sign in is mailed."""

    email = forms.EmailField(
        label="E-mail address",
        max_length=254,
        widget=forms.EmailInput(attrs={"autocomplete": "username", "autocapitalize": "none"}),
    )


class OpenLinkForm(PlainForm):
    """What is asked where a mailed link is used."""

    own_device = OwnDeviceField()


class AgainForm(PlainForm):
    """The password once more."""

    password = PasswordField("Your password")


class PasswordForm(PlainForm):
    """A new password; the old one is asked of who has one and came with no mailed link."""

    new_password = PasswordField("New password", new=True, help_text=NEW_PASSWORD_HINT)

    def __init__(self, *args: Any, old_asked: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if old_asked:
            self.ask(old_password=PasswordField("Your password until now"))
            self.order_fields(["old_password", "new_password"])

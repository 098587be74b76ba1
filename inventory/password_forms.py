"""Where a password is chosen: long enough, not one that everybody tries, and no other rule."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError

from inventory.models import Person
from inventory.plain_forms import PlainForm

LEAST, MOST = 12, 200  # characters; LEAST as in AUTH_PASSWORD_VALIDATORS
HELP = "At least 12 characters. Several words with blanks between them are easy to keep in mind."


class PasswordField(forms.CharField):
    """A password as it was typed or pasted, blanks at its ends too: signing in takes it so."""

    def __init__(self, *, label: str, fill: str = "new-password", help_text: str = "") -> None:
        """fill: what a browser may fill in, see autocomplete of HTML."""
        widget = forms.PasswordInput(attrs={"autocomplete": fill})
        super().__init__(
            label=label, max_length=MOST, strip=False, widget=widget, help_text=help_text
        )


class OwnPasswordForm(PlainForm):
    """Another password of one's own."""

    old = PasswordField(label="Password until now", fill="current-password")
    new = PasswordField(label="New password", help_text=HELP)

    def __init__(self, data: Any, person: Person) -> None:
        """person: who is signed in."""
        super().__init__(data)
        self.person = person

    def clean_old(self) -> str:
        """Whoever finds a phone signed in must not take it over for good."""
        old = str(self.cleaned_data["old"])
        if not self.person.check_password(old):
            raise ValidationError("This is not your password.")
        return old

    def clean_new(self) -> str:
        """Another than the one until now."""
        new = str(self.cleaned_data["new"])
        if new == self.cleaned_data.get("old"):
            raise ValidationError("This is your password already.")
        validate_password(new, self.person)
        return new


class GivenPasswordForm(PlainForm):
    """A new first password for somebody who forgot theirs."""

    password = PasswordField(label="New first password", help_text=HELP)

    def __init__(self, data: Any, person: Person) -> None:
        """person: whose it will be."""
        super().__init__(data)
        self.person = person

    def clean_password(self) -> str:
        """Long enough, and not one that everybody tries."""
        password = str(self.cleaned_data["password"])
        validate_password(password, self.person)
        return password

"""Where a password is asked for, and where one is chosen.

A new one is long enough and not one that everybody tries; there is no other rule.
"""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from django import forms
from django.contrib.auth.forms import AuthenticationForm
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.http import HttpRequest
from django.utils import timezone

from inventory import wrong_passwords
from inventory.models import Person
from inventory.plain_forms import PlainForm

LEAST, MOST = 12, 200  # characters; LEAST as in AUTH_PASSWORD_VALIDATORS
WRONG = "Name and password do not fit together, or you no longer work here."
HELP = "At least 12 characters. Several words with blanks between them are easy to keep in mind."


class PasswordField(forms.CharField):
    """A password as it was typed or pasted, blanks at its ends too: signing in takes it so."""

    def __init__(self, *, label: str, fill: str = "new-password", help_text: str = "") -> None:
        """fill: what a browser may fill in, see autocomplete of HTML."""
        widget = forms.PasswordInput(attrs={"autocomplete": fill})
        super().__init__(
            label=label, max_length=MOST, strip=False, widget=widget, help_text=help_text
        )


class SignInForm(AuthenticationForm):
    """Name and password, so many times from one place and no more."""

    error_messages = {"invalid_login": WRONG, "inactive": WRONG}

    def __init__(self, request: HttpRequest, data: Any) -> None:
        """request: where it comes from."""
        super().__init__(request, data)
        self.address = wrong_passwords.address_of(request)
        self.wait = timedelta()  # until a password is looked at again
        self.tried = ""  # the name whose password did not open
        self.fields["username"].label, self.fields["password"].label = "Name", "Password"
        for field in self.fields.values():
            field.error_messages["required"] = f"{field.label}: expected some text, got nothing"

    def clean(self) -> dict[str, Any]:
        """Whether they fit; too many wrong ones have to wait, whoever they name."""
        name = self.cleaned_data.get("username", "")
        if not name or not self.cleaned_data.get("password"):
            return self.cleaned_data
        self.tried = name
        self.wait = wrong_passwords.begin(name, self.address, timezone.now())
        if self.wait:
            raise ValidationError(wrong_passwords.words(self.wait))
        found = super().clean()
        self.tried = ""
        wrong_passwords.right(name, self.address)
        return found


class OwnPasswordForm(PlainForm):
    """Another password of one's own."""

    old = PasswordField(label="Password until now", fill="current-password")
    new = PasswordField(label="New password", help_text=HELP)

    def __init__(self, data: Any, person: Person, address: str) -> None:
        """person: who is signed in, address: from where."""
        super().__init__(data)
        self.person, self.address = person, address
        self.wait = timedelta()  # until the password until now is looked at again
        self.failed = False  # whether that one was wrong, or not looked at

    def clean_old(self) -> str:
        """Whoever finds a phone signed in must not take it over for good."""
        old, name = str(self.cleaned_data["old"]), self.person.username
        self.failed = True
        self.wait = wrong_passwords.begin(name, self.address, timezone.now())
        if self.wait:
            raise ValidationError(wrong_passwords.words(self.wait))
        if not self.person.check_password(old):
            raise ValidationError("This is not your password.")
        self.failed = False
        wrong_passwords.right(name, self.address)
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

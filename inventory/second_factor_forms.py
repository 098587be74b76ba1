"""Where a code beside the password is asked for."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from django import forms
from django.core import signing
from django.core.exceptions import ValidationError
from django.utils import timezone

from inventory import second_factor, wrong_passwords
from inventory.models import Person
from inventory.password_forms import PasswordField
from inventory.plain_forms import PlainForm

NOT_IT = "That is not the code of now, or it was used already. Wait for the next one."
TOO_OLD = "This page stood open for too long: open it anew, and let your phone read the new square."
NOT_SHOWN = (
    "That is not the code of now. Type the next one; look whether both devices' clocks are right."
)
SALT, HOLDS_FOR = "inventory.second_factor", timedelta(hours=1)


class CodeField(forms.CharField):
    """Six digits, or a recovery code."""

    def __init__(self, *, label: str, help_text: str = "", recovery: bool = True) -> None:
        """recovery: whether letters may be typed, too."""
        keys = {} if recovery else {"inputmode": "numeric"}
        widget = forms.TextInput({"autocomplete": "one-time-code", "autocapitalize": "off", **keys})
        super().__init__(label=label, max_length=40, help_text=help_text, widget=widget)


class CodeForm(PlainForm):
    """The code of now of somebody whose password fitted; so many times and no more.

    Counted for the person, from wherever: only who has the password gets this far.
    """

    code = CodeField(
        label="Code",
        help_text="The six digits that the app on your phone shows now, or a recovery code.",
    )

    def __init__(self, data: Any, person: Person) -> None:
        """person: whose code it must be."""
        super().__init__(data)
        self.person = person
        self.wait = timedelta()  # until a code is looked at again
        self.failed = False

    def clean_code(self) -> str:
        """Whether it fits, once."""
        code, now = str(self.cleaned_data["code"]), timezone.now()
        self.wait = _begin(self)
        if not second_factor.fits(self.person, code, now):
            raise ValidationError(NOT_IT)
        return _right(self, code)


class SetUpForm(PlainForm):
    """A new secret, the first code it gives, and the password: a phone found open is no way in."""

    drawn = forms.CharField(widget=forms.HiddenInput, max_length=200)
    password = PasswordField(label="Password", fill="current-password")
    code = CodeField(label="Code", help_text="The six digits that the app shows.", recovery=False)

    def __init__(self, data: Any, person: Person) -> None:
        """person: whose it will be."""
        super().__init__(data, initial={"drawn": signing.dumps(second_factor.draw(), salt=SALT)})
        self.person = person
        self.wait = timedelta()
        self.failed = False

    @property
    def secret(self) -> str:
        """What the secret is made of; where the page is too old, of the next one."""
        said = self.data.get("drawn") if self.is_bound else self.initial["drawn"]
        try:
            return str(signing.loads(said or "", salt=SALT, max_age=HOLDS_FOR))
        except signing.BadSignature:
            return ""

    def clean(self) -> dict[str, Any]:
        """One of ours, and not of yesterday."""
        if not self.secret:
            raise ValidationError(TOO_OLD)
        return {**self.cleaned_data, "drawn": self.secret}

    def clean_password(self) -> str:
        """The person's own."""
        password = str(self.cleaned_data["password"])
        self.wait = _begin(self)
        if not self.person.check_password(password):
            raise ValidationError("This is not your password.")
        return _right(self, password)


class TakeOffForm(PlainForm):
    """Why somebody else's second factor is taken off."""

    reason = forms.CharField(label="Why", max_length=200)


def _begin(form: CodeForm | SetUpForm) -> timedelta:
    form.failed = True
    wait = wrong_passwords.begin("code", f"person {form.person.pk}", timezone.now())
    if wait:
        form.wait = wait
        raise ValidationError(wrong_passwords.words(wait))
    return wait


def _right(form: CodeForm | SetUpForm, typed: str) -> str:
    form.failed = False
    wrong_passwords.right("code", f"person {form.person.pk}")
    return typed

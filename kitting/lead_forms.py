"""What is filled in about leads: who is one, and what one lets through."""

from __future__ import annotations

from typing import Any

from django import forms

from inventory.models import Person, Role
from inventory.plain_forms import PlainForm
from kitting import leading

PIN = {"inputmode": "numeric", "autocomplete": "off"}


class LeadForm(PlainForm):
    """Who becomes a lead by which PIN; without one a lead no more."""

    person = forms.ModelChoiceField(Person.objects.none(), label="Who")
    pin = forms.CharField(
        label="PIN",
        max_length=8,
        required=False,
        widget=forms.PasswordInput(PIN),
        help_text="4 to 8 digits, told to nobody else. Without one: a lead no more.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        may = [
            person.pk
            for person in Person.objects.filter(is_active=True)
            if person.has(Role.WAREHOUSE, Role.MANAGER)
        ]
        people = Person.objects.filter(pk__in=may).order_by("name")
        self.fields["person"].queryset = people  # type: ignore[attr-defined]


class WordForm(PlainForm):
    """A lead's word about one stop."""

    lead = forms.ModelChoiceField(Person.objects.none(), label="Lead")
    pin = forms.CharField(label="PIN", max_length=8, widget=forms.PasswordInput(PIN))
    reason = forms.CharField(label="Why it may go on", max_length=120)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        found = Person.objects.filter(pk__in=leading.leads().values("person")).order_by("name")
        self.fields["lead"].queryset = found  # type: ignore[attr-defined]

"""What can be filled in about orders, and about the day one asks for."""

from __future__ import annotations

from django import forms

from inventory.listed import ListedField
from inventory.models import Item, Partner
from inventory.plain_forms import PlainForm, WholeField

MOST = 1_000_000_000  # base units


class OrderForm(PlainForm):
    """What was ordered."""

    supplier = forms.ModelChoiceField(
        Partner.objects.filter(kind=Partner.Kind.SUPPLIER), label="Supplier", empty_label=None
    )
    item = ListedField(Item.objects.all(), label="Item", empty_label=None)
    quantity = WholeField(
        label="How many",
        min_value=1,
        max_value=MOST,
        help_text="Pieces, millimetres of cable, microlitres of sealant.",
    )
    promised_on = forms.DateField(
        label="Promised for", widget=forms.DateInput(attrs={"type": "date"})
    )
    number = forms.CharField(label="Our order's number", max_length=60, required=False)


class DayForm(PlainForm):
    """A day to look at."""

    day = forms.DateField(label="At the end of", widget=forms.DateInput(attrs={"type": "date"}))

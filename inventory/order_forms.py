"""What can be filled in about orders, and about the day one asks for."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any

from django import forms

from inventory.listed import ListedField
from inventory.models import Item, Partner
from inventory.plain_forms import PlainForm, WholeField

MOST = 1_000_000_000  # base units
ITEM = "item-"  # and its id: the name of a field


class PromiseForm(PlainForm):
    """Who brings it, and when."""

    supplier = forms.ModelChoiceField(
        Partner.objects.filter(kind=Partner.Kind.SUPPLIER), label="Supplier", empty_label=None
    )
    promised_on = forms.DateField(
        label="Promised for", widget=forms.DateInput(attrs={"type": "date"})
    )
    number = forms.CharField(label="Our order's number", max_length=60, required=False)


class SeveralForm(PromiseForm):
    """One order of several items, of each so many."""

    def __init__(self, data: Any, asked: Iterable[tuple[Item, int]]) -> None:
        """asked: what is offered, with how many stand in its field at first."""
        super().__init__(data)
        self.items = dict(asked)
        for item, quantity in self.items.items():
            name = f"How many {item.name}"
            field = WholeField(label=name, min_value=0, max_value=MOST, initial=quantity)
            field.required = False  # nothing typed is none
            field.widget.attrs["aria-label"] = name
            self.fields[_field(item)] = field

    def clean(self) -> dict[str, Any]:
        """What was typed beside an item that is no longer asked for is told, never dropped."""
        typed = {
            int(name.removeprefix(ITEM)): value
            for name, value in self.data.items()
            if re.fullmatch(rf"{ITEM}\d{{1,18}}", name) and value.strip() not in ("", "0")
        }
        offered = [item.pk for item in self.items]
        for item in Item.objects.filter(pk__in=typed).exclude(pk__in=offered):
            self.add_error(
                None,
                f"{item.name}: expected nothing, as it is not short any more, got"
                f" {typed[item.pk]}. If it was ordered all the same, enter it under On order",
            )
        return super().clean() or self.cleaned_data

    def of(self, item: Item) -> forms.BoundField:
        """The field of an item."""
        return self[_field(item)]

    def promise(self) -> list[forms.BoundField]:
        """The fields of the order itself."""
        return [self[name] for name in PromiseForm.base_fields]

    def ordered(self) -> list[tuple[Item, int]]:
        """What was ordered, with how many."""
        told = [(item, self.cleaned_data[_field(item)] or 0) for item in self.items]
        return [(item, quantity) for item, quantity in told if quantity]


def _field(item: Item) -> str:
    return f"{ITEM}{item.pk}"


class OrderForm(PromiseForm):
    """What was ordered."""

    item = ListedField(Item.objects.all(), label="Item", empty_label=None)
    quantity = WholeField(
        label="How many",
        min_value=1,
        max_value=MOST,
        help_text="Pieces, millimetres of cable, microlitres of sealant.",
    )
    field_order = ("supplier", "item", "quantity", "promised_on", "number")


class DayForm(PlainForm):
    """A day to look at."""

    day = forms.DateField(label="At the end of", widget=forms.DateInput(attrs={"type": "date"}))

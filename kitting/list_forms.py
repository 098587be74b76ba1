"""What can be filled in about parts lists: a sheet, the stack to see a list for, a signature."""

from __future__ import annotations

from typing import Any

from django import forms

from inventory.models import Item
from inventory.plain_forms import PlainForm, WholeField
from kitting.plan.family import Family
from kitting.questions import field_of, modules_of


class SheetForm(PlainForm):
    """One sheet of old job lists."""

    title = forms.CharField(label="What the stack system is called", max_length=80)
    sheet = forms.FileField(label="Sheet", help_text="Filled in from old job lists: .xlsx or .csv.")


class StackForm(PlainForm):
    """The stack to see a list for: its modules, and the lengths that the list asks for."""

    stacks = forms.CharField(
        label="Modules in each stack", max_length=100, help_text="From the first: 4, 4"
    )

    def __init__(self, family: Family, data: Any = None, **kwargs: Any) -> None:
        """family: whose questions are asked."""
        super().__init__(data, **kwargs)
        self.family = family
        for axis in family.axes.values():
            self.fields[axis.name] = field_of(axis)

    def clean_stacks(self) -> list[dict[str, int]]:
        """Return stacks as a configuration has them."""
        text = str(self.cleaned_data["stacks"])
        modules = modules_of(text)
        if not modules:
            raise forms.ValidationError(
                f"Modules in each stack: expected numbers as 4, 4, got {text[:40]!r}"
            )
        return [{"modules": n} for n in modules]


class CheckForm(PlainForm):
    """What is taken for something the parts list does not say."""

    question = forms.CharField(widget=forms.HiddenInput, max_length=400)
    item = forms.CharField(
        label="Item", max_length=120, required=False, help_text="Its code, where a part is taken."
    )
    quantity = WholeField(
        label="How many", required=False, min_value=1, help_text="In pieces; lengths in mm."
    )
    words = forms.CharField(
        label="Or in words",
        max_length=200,
        required=False,
        help_text="Where nothing is taken: what you saw to.",
    )

    def clean_item(self) -> Item | None:
        """An item of ours, by its code."""
        code = str(self.cleaned_data["item"]).strip()
        if not code:
            return None
        found = Item.objects.filter(code__iexact=code).first()
        if found is None:
            raise forms.ValidationError(f"Item: expected the code of an item, got {code[:40]!r}")
        return found

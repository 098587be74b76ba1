"""What can be filled in about bags made ahead: what a kind of bag holds, how many labels."""

from __future__ import annotations

from typing import Any

from django import forms

from inventory import typed_numbers
from inventory.incoming.errors import Wrong
from inventory.listed import ListedField
from inventory.models import Item, Place
from inventory.overviews import our_places
from inventory.plain_forms import PlainForm, WholeField
from kitting.bags import MOST
from kitting.forms import DATE

LONGEST = 40  # things in one bag


class ContentForm(PlainForm):
    """A kind of bag, and what it is made with from a day on."""

    code = forms.SlugField(
        label="Code of the bag",
        max_length=40,
        help_text="A new one, or the one of a bag that is told already.",
    )
    name = forms.CharField(label="What people call it", max_length=120)
    since = forms.DateField(label="From which day on", widget=DATE)
    parts = forms.CharField(
        label="What is in it",
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 5, "spellcheck": "false"}),
        help_text="On each line the code of an item and how many, as CT-BOLT6 8.",
    )

    def clean_parts(self) -> dict[Item, int]:
        """The items with how many of each; every wrong line is told."""
        rows = [
            row.split(None, 1)
            for row in str(self.cleaned_data["parts"]).splitlines()
            if row.strip()
        ]
        known = Item.objects.in_bulk([row[0] for row in rows], field_name="code")
        found: dict[Item, int] = {}
        wrong = []
        for number, row in enumerate(rows, 1):
            fault = self._fault(row, known, found)
            if fault:
                wrong.append(f"What is in it: line {number}: {fault}")
            else:
                found[known[row[0]]] = _count(row)
        if len(rows) > LONGEST:
            wrong.append(f"What is in it: expected at most {LONGEST} lines, got {len(rows)}")
        if wrong:
            raise forms.ValidationError(wrong)
        return found

    @staticmethod
    def _fault(row: list[str], known: dict[str, Item], found: dict[Item, int]) -> str:
        got = " ".join(row)[:60]
        if not 1 <= _count(row) <= 100_000:
            doubt = typed_numbers.doubt(row[-1])
            return f"expected a code and a number from 1, got {got!r}{doubt}"
        if row[0] not in known:
            return f"expected the code of an item, got {row[0]!r}"
        return f"expected each item once, got {row[0]} twice" if known[row[0]] in found else ""


def _count(row: list[str]) -> int:
    """The number behind a code; 0 where there is none."""
    try:
        return typed_numbers.base_units(row[1], {"": 1}) if len(row) == 2 else 0
    except Wrong:
        return 0


class LabelsForm(PlainForm):
    """Empty bags that get a label each."""

    number = WholeField(label="How many empty bags", min_value=1, max_value=MOST)
    at = ListedField(Place.objects.none(), label="They lie at", empty_label=None)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["at"].queryset = our_places()  # type: ignore[attr-defined]

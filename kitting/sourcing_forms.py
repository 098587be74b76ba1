"""What can be filled in about where things come from: a pin, a substitute, a choice."""

from __future__ import annotations

from typing import Any

from django import forms
from django.conf import settings
from django.utils.timezone import localdate

from inventory.listed import ListedField
from inventory.models import Item, Tracking, Unit
from inventory.plain_forms import PlainForm, WholeField
from inventory.scanning import resolve
from kitting.models import FamilyEdition, RunChoice
from kitting.plan import local_rules
from kitting.plan.needs import NEEDS

DAY = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
LONGEST = 200  # characters of a reason


class PinForm(PlainForm):
    """One thing for one kit."""

    serial = forms.CharField(
        label="Which one",
        max_length=200,
        help_text="Scan its label or its box, or type its serial.",
    )
    reason = forms.CharField(label="Why this one", max_length=LONGEST)

    def clean_serial(self) -> Unit:
        """A thing of ours, by any of its codes."""
        text = str(self.cleaned_data["serial"])
        thing = resolve(text)
        unit = thing.unit or (thing.place.units.first() if thing.place else None)
        if unit is None:
            raise forms.ValidationError(f"Which one: expected a serial we know, got {text[:40]!r}")
        return unit


class TakeForm(PlainForm):
    """A substitute for one line."""

    line = forms.IntegerField(widget=forms.HiddenInput)
    substitute = forms.UUIDField(widget=forms.HiddenInput)
    quantity = forms.IntegerField(widget=forms.HiddenInput, min_value=1)
    reason = forms.CharField(label="Why", max_length=100)


class ChoiceForm(PlainForm):
    """Oldest first or most stacks."""

    way = forms.ChoiceField(label="How", choices=RunChoice.Way.choices, widget=forms.HiddenInput)
    reason = forms.CharField(label="Why", max_length=LONGEST)


class SubstituteForm(PlainForm):
    """What may stand for what, how far and how long."""

    item = ListedField(Item.objects.none(), label="Where this is short")
    instead = ListedField(Item.objects.none(), label="This may be taken instead")
    takes = WholeField(label="So many of it", min_value=1, max_value=100000, initial=1)
    each = WholeField(label="stand for so many", min_value=1, max_value=100000, initial=1)
    most = WholeField(
        label="For at most how many in one kit",
        min_value=1,
        required=False,
        help_text="Pieces; lengths in mm. Empty: no bound.",
    )
    families = forms.MultipleChoiceField(
        label="Only for these stack systems",
        widget=forms.CheckboxSelectMultiple,
        required=False,
        help_text="None ticked: for all.",
    )
    editions = forms.MultipleChoiceField(
        label="Only by the parts lists of",
        widget=forms.CheckboxSelectMultiple,
        required=False,
    )
    regions = forms.MultipleChoiceField(
        label="Only where this code holds",
        widget=forms.CheckboxSelectMultiple,
        required=False,
    )
    needs = forms.MultipleChoiceField(
        label="Only for this purpose",
        required=False,
        help_text="None chosen: for any. Hold Ctrl to choose several.",
    )
    since = forms.DateField(label="For jobs from", widget=DAY, initial=localdate)
    until = forms.DateField(
        label="For jobs until", widget=DAY, required=False, help_text="Empty: until it is ended."
    )
    reason = forms.CharField(
        label="Why it may", max_length=LONGEST, help_text="And by which manual or whose word."
    )

    def __init__(self, data: Any = None, **kwargs: Any) -> None:
        super().__init__(data, **kwargs)
        # A thing with a serial has its place in a stack: another item there is another parts list.
        items = Item.objects.exclude(tracking=Tracking.SERIAL).order_by("name")
        for name in ("item", "instead"):
            self.fields[name].queryset = items  # type: ignore[attr-defined]
        editions = FamilyEdition.objects.order_by("name", "-edition")
        names = sorted({edition.name for edition in editions})
        days = sorted({edition.edition for edition in editions}, reverse=True)
        self._offer("families", [(name, name) for name in names])
        self._offer("editions", [(day.isoformat(), f"{day:%-d %b %Y}") for day in days])
        self._offer("regions", [(code, code) for code in ("none", *local_rules.codes())])
        self._offer("needs", [(need, need) for need in NEEDS])
        self.fields["regions"].help_text = f"Here it is: {settings.CODE}."

    def _offer(self, name: str, choices: list[tuple[str, str]]) -> None:
        self.fields[name].choices = choices  # type: ignore[attr-defined]

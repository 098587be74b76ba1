"""What can be filled in about deliveries, and about those who bring them."""

from __future__ import annotations

from django import forms
from django.core.exceptions import ValidationError

from inventory.models import About, How, Partner, Place, PlaceKind
from inventory.plain_forms import PlainForm

HOUR_WORDS = "Counted from the moment the boxes were counted: 24, or 168 for seven days."


class DeliveryForm(PlainForm):
    """What the delivery note says."""

    supplier = forms.ModelChoiceField(
        Partner.objects.filter(kind=Partner.Kind.SUPPLIER), label="Supplier", empty_label=None
    )
    carrier = forms.ModelChoiceField(
        Partner.objects.filter(kind=Partner.Kind.CARRIER),
        label="Brought by",
        required=False,
        empty_label="the supplier's own van",
    )
    note = forms.CharField(label="Number of the note", max_length=60)
    boxes = forms.IntegerField(label="Boxes on the note", min_value=1, max_value=5000)
    dock = forms.ModelChoiceField(
        Place.objects.filter(kind__in=(PlaceKind.DOCK, PlaceKind.DEPOT)).order_by("-kind", "code"),
        label="It arrives at",
        empty_label=None,
    )


class PartnerForm(PlainForm):
    """A supplier or carrier."""

    code = forms.SlugField(label="Short code", max_length=20)
    name = forms.CharField(label="Name", max_length=120)
    kind = forms.ChoiceField(label="What they do", choices=Partner.Kind.choices)

    def clean_code(self) -> str:
        """Nobody has this code yet."""
        code = str(self.cleaned_data["code"])
        if Partner.objects.filter(code=code).exists():
            raise ValidationError(f"Short code: expected one that is not taken, got {code!r}")
        return code


class ClockForm(PlainForm):
    """Within how many hours one partner wants to be told."""

    partner = forms.ModelChoiceField(Partner.objects.all(), label="Who", empty_label=None)
    about = forms.ChoiceField(label="When", choices=About.choices)
    how = forms.ChoiceField(label="Told how", choices=How.choices)
    hours = forms.IntegerField(
        label="Within how many hours", min_value=1, max_value=20000, help_text=HOUR_WORDS
    )
    source = forms.CharField(
        label="Who says so", max_length=200, help_text="Their terms with date, a law, or habit."
    )


class SerialListForm(PlainForm):
    """A supplier's serial file, pasted."""

    lines = forms.CharField(
        label="The supplier's serials",
        max_length=400_000,
        widget=forms.Textarea(attrs={"rows": 6, "spellcheck": "false"}),
        help_text=(
            "One a line: item or article number, serial, and the box's code if the file has it."
        ),
    )

"""What can be filled in about deliveries, and about those who bring them."""

from __future__ import annotations

from django import forms
from django.core.exceptions import ValidationError

from inventory.models import About, How, Partner, Place, PlaceKind
from inventory.plain_forms import PlainForm, WholeField


def _own(name: str) -> forms.TextInput:
    """An input with an id of its own: several forms stand on one page."""
    return forms.TextInput({"id": name})


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
    boxes = WholeField(label="Boxes on the note", min_value=1, max_value=5000)
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
    hours = WholeField(
        label="Within how many hours", min_value=1, max_value=20000, help_text=HOUR_WORDS
    )
    source = forms.CharField(
        label="Who says so", max_length=200, help_text="Their terms with date, a law, or habit."
    )


class NeedForm(PlainForm):
    """What one partner wants with a claim beside what every claim needs."""

    partner = forms.ModelChoiceField(
        Partner.objects.all(),
        label="Who",
        empty_label=None,
        widget=forms.Select({"id": "need-who"}),
    )
    about = forms.ChoiceField(
        label="For what claims", choices=About.choices, widget=forms.Select({"id": "need-about"})
    )
    key = forms.SlugField(label="Short code", max_length=30, widget=_own("need-key"))
    words = forms.CharField(label="What they want", max_length=120)
    source = forms.CharField(label="Where it stands", max_length=200, widget=_own("need-source"))


class KeepForm(PlainForm):
    """How long what is claimed from a partner is kept, and who says first that it may come off."""

    partner = forms.ModelChoiceField(
        Partner.objects.all(),
        label="Who",
        empty_label=None,
        widget=forms.Select({"id": "keep-who"}),
    )
    keep_days = WholeField(
        label="Keep what is claimed for how many days",
        min_value=0,
        max_value=3650,
        initial=30,
        help_text="30 where nothing is said; one maker's manual of home storage asks for it.",
    )
    approval_first = forms.BooleanField(
        label="Nothing comes off before they have approved it", required=False
    )


class SerialListForm(PlainForm):
    """A supplier's serial file, pasted."""

    lines = forms.CharField(
        label="Lines of their file",
        max_length=400_000,
        widget=forms.Textarea(attrs={"rows": 6, "spellcheck": "false"}),
        help_text=(
            "One a line: item or article number, serial, and the box's code if the file has it."
        ),
    )

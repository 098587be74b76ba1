"""What can be filled in about labels and printers."""

from __future__ import annotations

from typing import Any

from django import forms
from django.conf import settings
from django.core.exceptions import ValidationError

from inventory import label_printing, print_queue
from inventory.labels.drawing import RESOLUTIONS
from inventory.labels.layouts import layouts, usual
from inventory.models import Printer
from inventory.plain_forms import PlainForm, WholeField

PAPERS = [(name, layout.words) for name, layout in layouts().items()]
DPI = [(dpi, f"{dpi} dots per inch") for dpi in RESOLUTIONS]
MOST_SKIPPED = max(layout.per_page for layout in layouts().values()) - 1


class LabelsForm(PlainForm):
    """Which labels to draw, and where they come out."""

    codes = forms.CharField(
        label="Codes",
        max_length=20000,
        widget=forms.Textarea(attrs={"rows": 6, "spellcheck": "false", "data-takes-scan": True}),
        help_text="One a line: places, boxes, parcels, serials, item codes, labels of ours.",
    )
    printer = forms.ModelChoiceField(
        label="They come out",
        queryset=Printer.objects.none(),
        required=False,
        empty_label="as a file, on the paper below",
        help_text="A printer prints at once, on its own paper.",
    )
    layout = forms.ChoiceField(label="Paper of a file", choices=PAPERS, required=False)
    form = forms.ChoiceField(
        label="A file as",
        choices=[("pdf", "sheet or roll (PDF)"), ("png", "one picture (PNG, first code only)")],
        initial="pdf",
        required=False,
    )
    dpi = forms.TypedChoiceField(
        label="A file for a printer of", choices=DPI, coerce=int, required=False
    )
    skip = WholeField(
        label="Labels already used on the first sheet",
        min_value=0,
        max_value=MOST_SKIPPED,
        initial=0,
        required=False,
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial.setdefault("layout", usual(settings.PAPER))
        if print_queue.there():
            printers = self.fields["printer"]
            assert isinstance(printers, forms.ModelChoiceField)
            printers.queryset = label_printing.printers()

    def clean_layout(self) -> str:
        """The sheet of the office's paper where nobody chose one."""
        return self.cleaned_data["layout"] or usual(settings.PAPER)

    def clean_dpi(self) -> int:
        """The coarsest where nobody chose."""
        return self.cleaned_data["dpi"] or RESOLUTIONS[0]

    def clean_skip(self) -> int:
        """None where nobody said so."""
        return self.cleaned_data["skip"] or 0


class PrinterForm(PlainForm):
    """A printer's queue and its paper."""

    address = forms.CharField(
        label="Address of its queue",
        max_length=200,
        help_text="ipp://server:631/printers/NAME of a print server, or of the printer itself.",
    )
    layout = forms.ChoiceField(label="Paper in it", choices=PAPERS)
    dpi = forms.TypedChoiceField(label="It prints", choices=DPI, coerce=int)

    def clean_address(self) -> str:
        """IPP alone, without a name and password in it."""
        address = str(self.cleaned_data["address"]).strip()
        if not print_queue.ADDRESS.fullmatch(address):
            raise ValidationError(
                f"Address of its queue: expected {print_queue.EXPECTED}, got {address[:100]!r}"
            )
        return address


class NewPrinterForm(PrinterForm):
    """A printer that is entered."""

    field_order = ("name",)
    name = forms.CharField(
        label="Name", max_length=60, help_text="As people say it at the bench. It cannot change."
    )

    def clean_name(self) -> str:
        """One that no other printer has."""
        name = str(self.cleaned_data["name"])
        if Printer.objects.filter(name=name).exists():
            raise ValidationError(f"Name: expected one that is not taken, got {name!r}")
        return name


class PrinterChangeForm(PrinterForm):
    """What may change about a printer."""

    in_use = forms.BooleanField(label="It is in use", required=False)

    @property
    def paper(self) -> str:
        """The paper in it, in words."""
        name = str(self.initial["layout"])
        return dict(PAPERS).get(name, name)

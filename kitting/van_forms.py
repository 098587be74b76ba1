"""What a van's papers say, and when it is out of service, as a person types it in."""

from __future__ import annotations

from typing import Any

from django import forms

from inventory.plain_forms import PlainForm, PlainModelForm, WholeField
from kitting.forms import DATE, year_slip
from kitting.models import VanFacts

LABELS = {
    "gross_kg": "May weigh in all (kg)",
    "ready_kg": "Weighs ready to drive (kg)",
    "with_driver": "A driver of 75 kg is in that figure (EU papers: yes)",
    "persons": "People who ride, the driver counted",
    "fitted_kg": "Racks and tools that stay in it (kg)",
    "wheelbase_mm": "Wheelbase (mm), if known",
    "load_at_mm": "From the front axle to the middle of the load (mm), if known",
}
MOST = {"gross_kg": 60_000, "ready_kg": 60_000, "fitted_kg": 20_000, "persons": 9}
MOST |= {"wheelbase_mm": 10_000, "load_at_mm": 12_000}


class PapersForm(PlainModelForm):
    """Masses in kg, measures in mm, from the van's registration papers."""

    class Meta:
        model = VanFacts
        fields = tuple(LABELS)
        field_classes = dict.fromkeys(MOST, WholeField)
        labels = LABELS

    def clean(self) -> dict[str, Any]:
        """A van may weigh more than itself; no figure is beyond any van."""
        cleaned: dict[str, Any] = super().clean() or {}
        for name, most in MOST.items():
            if (cleaned.get(name) or 0) > most:
                words = f"{LABELS[name]}: expected at most {most}, got {cleaned[name]}"
                self.add_error(name, words)
        gross, ready = cleaned.get("gross_kg"), cleaned.get("ready_kg")
        if gross is not None and ready is not None and gross <= ready:
            words = f"{LABELS['gross_kg']}: expected more than {ready}, got {gross}"
            self.add_error("gross_kg", words)
        if cleaned.get("persons") == 0:
            self.add_error("persons", f"{LABELS['persons']}: expected at least 1, got 0")
        return cleaned


class OutForm(PlainForm):
    """From when to when a van is out of service, and why."""

    first = forms.DateField(label="From", widget=DATE, validators=[year_slip])
    last = forms.DateField(
        label="Until, if somebody knows", widget=DATE, validators=[year_slip], required=False
    )
    reason = forms.CharField(label="Why", max_length=200)

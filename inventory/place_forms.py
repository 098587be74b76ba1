"""Forms of places: a new one, and what may change about one."""

from __future__ import annotations

from zoneinfo import available_timezones

from django import forms
from django.core.exceptions import ValidationError

from inventory.models import Place, PlaceKind, Purpose
from inventory.models.places import OWN_KINDS
from inventory.plain_forms import PlainForm, WholeField

PARENTS = (PlaceKind.DEPOT, PlaceKind.DOCK, PlaceKind.BAY)


class PlaceChangeForm(PlainForm):
    """What may change about a place of ours; its kind, its code and where it stands stay."""

    name = forms.CharField(label="Name", max_length=120)
    order = WholeField(
        label="Walking order",
        min_value=0,
        max_value=100000,
        initial=0,
        required=False,
        help_text="Bins are walked from low to high.",
    )
    time_zone = forms.CharField(
        label="Time zone", max_length=60, required=False, help_text="Of a depot: Europe/Berlin."
    )
    purpose = forms.ChoiceField(
        label="Kept for",
        choices=[("", "stock"), *Purpose.choices],
        required=False,
        help_text="Of a bin: where what came back lies, or what must stand apart.",
    )
    in_use = forms.BooleanField(
        label="In use",
        required=False,
        help_text="Without the tick it is offered nowhere any more; what happened there stays.",
    )

    def clean_time_zone(self) -> str:
        """A zone of the IANA list, or nothing."""
        zone = str(self.cleaned_data["time_zone"])
        if zone and zone not in available_timezones():
            raise ValidationError(f"Time zone: expected one as Europe/Berlin, got {zone!r}")
        return zone

    def clean_order(self) -> int:
        """Nothing typed: first of the walk."""
        return self.cleaned_data["order"] or 0


class PlaceForm(PlaceChangeForm):
    """A new place of ours; its label code is given by us."""

    kind = forms.ChoiceField(
        label="Kind", choices=[(kind, PlaceKind(kind).label) for kind in OWN_KINDS]
    )
    parent = forms.ModelChoiceField(
        Place.objects.filter(kind__in=PARENTS, in_use=True, subject=""),  # none of a kit
        label="Stands in",
        required=False,
        help_text="Nothing for a depot or a van.",
    )
    in_use = None  # type: ignore[assignment]  # a new one is
    field_order = ("kind", "name", "parent", "order", "time_zone", "purpose")

"""What can be filled in about charging: a maker's rule, and how warm it gets somewhere."""

from __future__ import annotations

from django import forms

from inventory.listed import ListedField
from inventory.models import Item, Place
from inventory.overviews import our_places
from inventory.plain_forms import PlainForm, WholeField

COLDEST, WARMEST = -40, 80  # degrees Celsius that a store can have


class ChargeRuleForm(PlainForm):
    """How long an item keeps its charge in one band of warmth."""

    item = ListedField(Item.objects.filter(tracking="serial"), label="Item", empty_label=None)
    up_to_c = WholeField(label="Kept at or below, degrees C", min_value=COLDEST, max_value=WARMEST)
    days = WholeField(label="A charge lasts how many days", min_value=1, max_value=3650)
    recharges = WholeField(
        label="Charged on the shelf at most how often", min_value=0, max_value=99, required=False
    )
    years = WholeField(
        label="On the shelf at most how many years", min_value=1, max_value=20, required=False
    )
    source = forms.CharField(
        label="Where it is written", max_length=200, help_text="The maker's manual, date and page."
    )


class WarmthForm(PlainForm):
    """How warm it gets at a place of ours."""

    place = ListedField(Place.objects.none(), label="Place", empty_label=None)
    warmest_c = WholeField(
        label="It gets at most, degrees C",
        min_value=COLDEST,
        max_value=WARMEST,
        required=False,
        help_text="Empty: nobody knows, the shortest time counts there.",
    )

    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]
        self.fields["place"].queryset = our_places()  # type: ignore[attr-defined]

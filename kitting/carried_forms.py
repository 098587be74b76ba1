"""What can be filled in about the standing list of a van or an own bag."""

from __future__ import annotations

from typing import Any

from inventory.listed import ListedField
from inventory.models import Item, Tracking
from inventory.plain_forms import PlainForm, WholeField
from kitting.standing_list import MOST


class CarriedForm(PlainForm):
    """One item, how much of it is there at least, and up to how much it is filled."""

    item = ListedField(Item.objects.none(), label="What it always carries")
    least = WholeField(label="At least", min_value=0, max_value=MOST)
    up_to = WholeField(
        label="Fill up to",
        min_value=0,
        max_value=MOST,
        help_text="At least 0 and up to 0 takes it off the list.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        counted = Item.objects.filter(tracking__in=(Tracking.COUNT, Tracking.LOT, Tracking.TOOL))
        self.fields["item"].queryset = (  # type: ignore[attr-defined]
            counted.exclude(unit="mm").order_by("name", "code")
        )

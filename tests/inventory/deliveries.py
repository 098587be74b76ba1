"""A delivery at the invented firm's door."""

from __future__ import annotations

from inventory import deliveries
from inventory.models import Delivery, Partner
from tests.firm import Firm

PHOTO = "ab" * 32


def begin(shop: Firm, boxes: int = 3) -> Delivery:
    """Enter two partners with clocks, and a note of theirs."""
    supplier = deliveries.enter_partner(code="north", name="North Store", kind="supplier")
    carrier = deliveries.enter_partner(code="swift", name="Swift Road", kind="carrier")
    for partner, about, how, hours, source in (
        (supplier, "shortage", "writing", 720, "their terms of 1 Feb"),
        (carrier, "damage", "phone", 24, "their terms of 2 Mar"),
        (carrier, "damage", "writing", 360, "their terms of 2 Mar"),
        (carrier, "hidden", "writing", 168, "CMR article 30"),
    ):
        deliveries.set_clock(partner, about=about, how=how, hours=hours, source=source)
    return deliveries.enter(
        shop.wanda.person,
        note="LS-1",
        supplier=supplier,
        carrier=Partner.objects.get(code="swift"),
        dock=shop.dock,
        boxes=boxes,
    )

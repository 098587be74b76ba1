"""Whose boxes arrive broken, and which batches: what the record says, and how sure that is.

Suppliers and carriers by the boxes of their deliveries, as they were counted at the door; each
carrier within the boxes of one supplier, each supplier within those of one carrier. Batches by
their units that were ever reported damaged, each within its item.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from django.db.models import Count

from inventory import arrivals
from inventory.models import Delivery, Finding, Unit
from kitting.plan.bad_lots import Judged, Seen, judged

MOST = 500  # deliveries that are looked at: the newest
NOBODY = "no carrier named"


@dataclass(frozen=True, slots=True)
class Table:
    """One sort of those that are judged."""

    title: str
    things: str  # what is counted
    within: str  # what they are compared within
    rows: tuple[Judged, ...]

    @property
    def alarms(self) -> int:
        """How many stand out."""
        return sum(row.alarm for row in self.rows)


def tables() -> list[Table]:
    """Return suppliers, carriers and batches with their damage, the worst rate first."""
    deliveries = list(Delivery.objects.select_related("supplier", "carrier")[:MOST])
    told = arrivals.came_bad(deliveries)
    counted = [(one, *told[one.pk]) for one in deliveries if one.pk in told]
    suppliers = [Seen(d.supplier.name, d.carrier_id, bad, all_) for d, bad, all_ in counted]
    carriers = [
        Seen(d.carrier.name if d.carrier else NOBODY, d.supplier_id, bad, all_)
        for d, bad, all_ in counted
    ]
    return [
        Table("Suppliers", "boxes", "boxes of one carrier", tuple(judged(suppliers))),
        Table("Carriers", "boxes", "boxes of one supplier", tuple(judged(carriers))),
        Table("Batches", "units", "units of one item", tuple(judged(_batches()))),
    ]


def _batches() -> Iterator[Seen]:
    """Units of each batch that bears a number, of items of which one was ever damaged."""
    found = Finding.objects.filter(kind=Finding.Kind.DAMAGED, event__reversed_by=None)
    bad = Unit.objects.filter(findings__in=found).exclude(lot__number="").distinct()
    broken = Counter(bad.values_list("lot", flat=True))
    items = set(bad.values_list("item", flat=True))
    units = Unit.objects.filter(item__in=items).exclude(lot__number="").order_by()
    rows = units.values_list("lot", "lot__number", "item", "item__name").annotate(Count("pk"))
    for lot, number, item, name, total in rows:
        yield Seen(f"{name}, {number}", item, broken[lot], total)

"""Every count that stands, whatever brought it: a scan at the bin, or a file of stock."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from django.db.models import Q

from inventory.ledger.line import parse
from inventory.models import BroughtPart, Event, Item


def standing(
    items: Collection[int] | None = None, after: int = 0
) -> Iterator[tuple[Event, str, int]]:
    """Yield event, code of the place and item of each count in ledger order, undone ones not.

    items: ids of those that are asked about, None: all; after: only counts above this number.
    """
    codes = dict(Item.objects.values_list("code", "pk"))
    scanned = Q(step="count", outcomes__verdict="applied")
    scanned &= Q(scan__item__isnull=False) if items is None else Q(scan__item__in=items)
    brought = Q(brought_part__file__kind="stock")
    events = Event.objects.filter(scanned | brought, reversed_by=None, number__gt=after).distinct()
    parts = BroughtPart.objects.filter(file__kind="stock", event__in=events)
    rows = {part.event_id: part.rows for part in parts}
    for event in events.select_related("scan").order_by("number"):
        if event.step == "count":
            if event.scan.item_id is not None:
                yield event, parse(event.line).target, event.scan.item_id
            continue
        for row in rows.get(event.pk, ()):
            if "quantity" in row and (items is None or codes[row["item"]] in items):
                yield event, row["place"], codes[row["item"]]

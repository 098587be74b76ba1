"""What became of each line of a closed kit, by the ledger: how far it had come says nothing."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping

from inventory.models import Tracking
from inventory.words import measure
from kitting.models import KitLine
from kitting.tallies import Total, share

Ways = tuple[tuple[int, str], ...]  # base units, what became of them


def told(lines: Iterable[KitLine], totals: Mapping[str, Total]) -> dict[int, tuple[str, ...]]:
    """Return line id -> what became of it, one sentence a way; at least one for each line.

    An item's figures are spread over its lines in the order of the steps; what went beyond the list
    counts with its last line.
    """
    mine: dict[str, list[KitLine]] = defaultdict(list)
    for line in lines:
        mine[line.item.code].append(line)
    found: dict[int, list[str]] = {line.pk: [] for rows in mine.values() for line in rows}
    for code, rows in mine.items():
        rooms = [line.quantity for line in rows]
        for quantity, way in _ways(totals[code], sum(rooms)):
            parts = share(quantity, rooms, keep_all=True)
            rooms = [max(room - part, 0) for room, part in zip(rooms, parts, strict=True)]
            for line, part in zip(rows, parts, strict=True):
                found[line.pk] += [way.format(measure(part, line.unit))] if part else []
    return {pk: tuple(words) for pk, words in found.items()}


def _ways(total: Total, needed: int) -> Ways:
    """What the record has of an item, and last so much of the need that it has nothing of."""
    broken = min(total.damaged, total.back)
    known = (
        (total.fitted, "{0} fitted"),
        (total.used, "{0} used"),
        (broken, "{0} came back damaged"),
        (total.back - broken, "{0} came back"),
        (total.lost, "{0} missing"),
    )
    left = max(needed - sum(quantity for quantity, _ in known), 0)
    own = min(total.on_van, left) if total.item.tracking == Tracking.TOOL else 0
    return (*known, (own, "{0} of the van's own"), (left - own, "{0} never scanned"))

"""How far several kits have come, asked together: as many statements for twelve as for one."""

from __future__ import annotations

from collections.abc import Sequence

from django.db.models import prefetch_related_objects

from inventory.models import Tracking
from kitting import day_lines, netting, of_kit, shelves
from kitting.models import Kit
from kitting.of_kit import Asked
from kitting.progress import fold
from kitting.tallies import Progress


def fold_each(kits: Sequence[Kit]) -> list[Progress]:
    """Return how far each of these kits has come, as `fold` tells it of one."""
    if not kits:
        return []
    prefetch_related_objects(kits, "job__van__carried")
    lines = day_lines.of_each(kits)
    around = of_kit.places_of_each(kits)
    sites = [kit.job.site.place for kit in kits]
    pairs = list(zip(around, sites, strict=True))
    steps = of_kit.STEPS.tuples_each([{"subject": kit.subject} for kit in kits])
    held = of_kit.HELD.tuples_each(
        [{"place": [one.pk for one in (*places, site)]} for places, site in pairs]
    )
    # An own bag's things are others' matter, as where `fold` asks by itself.
    packed = [[one for one in places if not shelves.is_own_bag(one)] for places in around]
    stood = [[*places, site] for places, site in zip(packed, sites, strict=True)]
    findings = of_kit.findings_of_each(kits, stood)
    items = [{line.item_id for line in own} for own, _ in lines]
    boxes = netting.told_of_each(kits, items)
    tools = [{n.item_id for n in own if n.item.tracking == Tracking.TOOL} for own, _ in lines]
    along = shelves.with_each_crew(kits, tools)
    return [
        fold(
            kit,
            asked=Asked(
                lines[n],
                {step for (step,) in steps[n]},
                around[n],
                held[n],
                findings[n],
                boxes[n],
                along[n],
            ),
        )
        for n, kit in enumerate(kits)
    ]

"""Writing the side tables anew from the ledger; what moves stock is `moving.py`."""

from __future__ import annotations

from typing import TYPE_CHECKING

from inventory.models import Device, DeviceGap, Holding, Place, Unit

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from inventory.ledger.book import Book
    from inventory.ledger.sequence import Gap


def rebuild(book: Book[int], gaps: Mapping[int, Sequence[Gap]], heads: Mapping[int, int]) -> None:
    """Write the side tables anew, under the lock, from what the ledger amounts to.

    book: keys are row ids. gaps, heads: device id -> missing numbers, highest number.
    """
    outer = {place.pk: place.outside for place in Place.objects.all()}
    Holding.objects.all().delete()
    Holding.objects.bulk_create(
        Holding(place_id=place, lot_id=lot, quantity=quantity, outside=outer[place])
        for (place, lot), quantity in book.stock().items()
    )
    standing = Unit.objects.exclude(place=None).values_list("pk", flat=True)
    for unit in [pk for pk in standing if pk not in book.units]:
        Unit.objects.filter(pk=unit).update(place=None)
    for unit, place in book.units.items():
        Unit.objects.filter(pk=unit).update(place=place)
    for box, parent in book.parents.items():
        Place.objects.filter(pk=box).update(parent=parent)
    DeviceGap.objects.all().delete()
    DeviceGap.objects.bulk_create(
        DeviceGap(device_id=device, first=first, last=last)
        for device, missing in gaps.items()
        for first, last in missing
    )
    for device, head in heads.items():
        Device.objects.filter(pk=device).update(high_water=head)

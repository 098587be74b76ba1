"""A bin is empty though the book says otherwise: where else a kit gets the item from."""

from __future__ import annotations

from dataclasses import dataclass

from inventory.models import Item, Place, PlaceKind
from kitting import donors, substituting
from kitting.donors import Donor
from kitting.models import Kit
from kitting.overviews import shelf_of
from kitting.progress import fold
from kitting.shelves import Spot, on_shelves
from kitting.substituting import Instead


@dataclass(frozen=True, slots=True)
class Elsewhere:
    """What can be done; each list may be empty."""

    left: int  # base units that the kit still takes
    bins: tuple[Spot, ...]  # the next bins, in the order of taking
    dock: tuple[Spot, ...]  # came and was not put away yet
    instead: tuple[Instead, ...]
    donors: tuple[Donor, ...]

    @property
    def nothing(self) -> bool:
        """Whether nobody here has any."""
        return not (self.bins or self.dock or self.instead or self.donors)


def elsewhere(kit: Kit, item: Item, at: Place | None) -> Elsewhere:
    """Return where else to look for an item of a kit; `at` is the place that was found empty."""
    progress = fold(kit, item)
    rows = {row.line.pk: row.to_pick for row in progress.lines if row.to_pick}
    spots = [
        spot
        for spot in on_shelves([item.pk])[item.pk]
        if not spot.expired(kit.job.date) and (at is None or at not in spot.place.way_up())
    ]
    waits = [spot for spot in spots if _at_dock(spot)]
    others = donors.donors(kit, [item]).get(item.pk, [])
    return Elsewhere(
        sum(rows.values()),
        tuple(spot for spot in spots if spot not in waits),
        tuple(waits),
        tuple(substituting.instead_of(kit, rows)) if rows else (),
        tuple(others),
    )


def _at_dock(spot: Spot) -> bool:
    shelf = shelf_of(spot.place)
    return shelf is not None and shelf.kind == PlaceKind.DOCK

"""What the cells of a file name: items by code or article number, places by label or name."""

from __future__ import annotations

from collections import Counter

from inventory.codes.errors import CodeError
from inventory.codes.serials import key as serial_key
from inventory.codes.serials import look_up_key
from inventory.incoming.errors import Wrong
from inventory.incoming.tables import Cell
from inventory.incoming.values import as_printed, shown, text
from inventory.models import Item, ItemCode, Place
from inventory.models.places import MOVABLE, OUTSIDE
from inventory.serial_lists import sound


class Items:
    """All items, asked once."""

    def __init__(self) -> None:
        """Read the catalogue."""
        self.by_code = {item.code: item for item in Item.objects.all()}
        codes = ItemCode.objects.filter(label_pattern=False).select_related("item")
        self.by_key = {code.key: code.item for code in codes}

    def named(self, cell: Cell) -> Item:
        """Return the item that a cell names. Raises Wrong."""
        name = text(cell, 120, needed=True)
        item = self.by_code.get(name) or self.by_key.get(look_up_key(name))
        if item is None:
            raise Wrong(f"expected the code or article number of an item, got {shown(cell)}")
        return item


class Places:
    """Places of ours where things are kept, asked once."""

    def __init__(self) -> None:
        """Read the places."""
        kinds = {*OUTSIDE, *MOVABLE, "site", "stack"}
        rows = list(Place.objects.exclude(kind__in=kinds).filter(subject=""))
        self.by_code = {place.code: place for place in rows}
        names = Counter(place.name.casefold() for place in rows)
        self.by_name = {p.name.casefold(): p for p in rows if names[p.name.casefold()] == 1}

    def named(self, cell: Cell) -> Place:
        """Return the place that a cell names. Raises Wrong."""
        name = text(cell, 120, needed=True)
        place = self.by_code.get(look_up_key(name)) or self.by_name.get(name.casefold())
        if place is None:
            wanted = "the label code of a place of ours, or its name if only one bears it"
            raise Wrong(f"expected {wanted}, got {shown(cell)}")
        return place


def printed_batch(cell: Cell) -> tuple[str, str]:
    """Return a batch as printed and its normal form, both empty for nothing. Raises Wrong."""
    number = as_printed(cell, "batch").strip()
    if not number:
        return "", ""
    try:
        return number, serial_key(number)
    except CodeError as error:
        raise Wrong(f"{error.message}: {shown(cell)}") from None


def printed_serial(cell: Cell) -> tuple[str, str]:
    """Return a serial as printed and its normal form. Raises Wrong for one that is spoilt."""
    serial = as_printed(cell, "serial").strip()
    if not serial:
        raise Wrong("expected a serial, got nothing")
    try:
        return serial, sound(serial)
    except ValueError as error:
        raise Wrong(str(error)) from None

"""Addresses under which EPCIS tells of our things: GS1 keys where there is one, else our ids."""

from __future__ import annotations

from collections.abc import Iterable
from urllib.parse import quote

from inventory.codes import gtin
from inventory.codes.characters import CSET82
from inventory.codes.check_digits import is_checked
from inventory.models import ItemCode, Lot, Place, Unit
from inventory.models.things import Evidence

LONGEST = 20  # characters of a serial or batch in a GS1 key
MEASURES = {"mm": "MMT", "ul": "4G", "mm2": "MMK"}  # UN/ECE recommendation 20, from memory


class Names:
    """Addresses of things: GS1 keys where there is an article number, else ids of ours."""

    def __init__(self) -> None:
        codes = ItemCode.objects.filter(pack_quantity=1, label_pattern=False).order_by("-pk")
        known = codes.values_list("item_id", "text")
        pairs = [(item, gtin.normal(text)) for item, text in known if gtin.is_valid(text)]
        self.numbers = {item: number for item, number in pairs if not gtin.is_restricted(number)}

    def unit(self, unit: Unit) -> str:
        """Return the address of a single thing."""
        number = self.numbers.get(unit.item_id)
        if number is None or unit.evidence == Evidence.OWED or not _fits(unit.serial):
            return f"urn:uuid:{unit.uid}"
        return f"https://id.gs1.org/01/{number}/21/{quote(unit.serial, safe='')}"

    def lots(self, lots: Iterable[tuple[Lot, int]]) -> list[dict[str, object]]:
        """Return all that is told by number."""
        return [self.lot(lot, quantity) for lot, quantity in lots]

    def lot(self, lot: Lot, quantity: int) -> dict[str, object]:
        """Return so many base units of a batch; 0: the batch, whatever there is of it.

        The number on a reel, a piece or an opened pack is ours, not the maker's of the article.
        """
        number = self.numbers.get(lot.item_id) if lot.parent_id is None else None
        name = f"urn:uuid:{lot.uid}"
        if number is not None and not lot.number:
            name = f"https://id.gs1.org/01/{number}"
        elif number is not None and _fits(lot.number):
            name = f"https://id.gs1.org/01/{number}/10/{quote(lot.number, safe='')}"
        if not quantity:
            return {"epcClass": name}
        counted: dict[str, object] = {"epcClass": name, "quantity": quantity}
        measure = MEASURES.get(lot.item.unit)
        return counted | {"uom": measure} if measure else counted


def _fits(name: str) -> bool:
    """Say whether GS1 takes it as a serial or batch: 20 characters of set 82."""
    return len(name) <= LONGEST and CSET82.issuperset(name)


def place_name(place: Place) -> str:
    """Return the address of a place or box: the number of a logistic unit where its code is one."""
    if len(place.code) == 18 and is_checked(place.code):
        return f"https://id.gs1.org/00/{place.code}"
    return f"urn:uuid:{place.uid}"

"""What a scanned or typed text means here: text -> readings (inventory.codes) -> a thing.

A value counts only if it names something we know exactly; nearness is a question, never an answer.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from inventory.codes.reading import read
from inventory.codes.serials import key as serial_key
from inventory.codes.serials import look_up_key
from inventory.models import Item, ItemCode, Lot, Place, Unit, UnitAlias


@dataclass(frozen=True, slots=True)
class Thing:
    """What a text was taken for."""

    kind: str  # unit, box, lot, item, place, serial (of no unit we know), unknown, none
    text: str = ""
    unit: Unit | None = None
    lot: Lot | None = None
    item: Item | None = None
    place: Place | None = None
    pack: int = 1  # base units one scan of a shared code stands for
    serial: str = ""  # kind serial: as printed
    lot_number: str = ""  # as printed
    expiry: str = ""  # ISO date, as printed
    question: str = ""  # kind unknown: what a person should be asked
    fields: dict[str, Any] = field(default_factory=dict)

    @property
    def name(self) -> str:
        """What to call it in a sentence."""
        named = self.unit or self.place or self.item
        if self.lot and self.lot.number:
            return f"{self.lot.item.name}, batch {self.lot.number}"
        if isinstance(named, Item):
            return named.name
        return str(named) if named else (self.text[:40] or "this")


NOTHING = Thing("none")


def resolve(text: str, via: str = "keys") -> Thing:
    """Return what a text means here; kind `unknown` with a question where it means nothing."""
    if not text.strip():
        return NOTHING
    short = look_up_key(text)
    thing = _by_key(text, short)
    if thing is not None:
        return thing
    answer = read(text, via)
    for reading in answer.readings:
        thing = _by_fields(text, dict(reading.fields))
        if thing is not None:
            return thing
    if answer.refused is not None:
        return Thing("unknown", text=text, question=answer.refused.message)
    return Thing("unknown", text=text, question="No such code here.")


def _by_key(text: str, short: str) -> Thing | None:
    place = Place.objects.filter(code=short).select_related("parent").first()
    if place is not None:
        return Thing("place", text=text, place=place)
    alias = UnitAlias.objects.filter(key=short).select_related("unit__item", "unit__place").first()
    if alias is not None:
        kind = "box" if alias.kind == UnitAlias.Kind.BOX else "unit"
        return Thing(kind, text=text, unit=alias.unit, item=alias.unit.item)
    code = ItemCode.objects.filter(key=short).select_related("item").first()
    if code is not None:
        return Thing("item", text=text, item=code.item, pack=code.pack_quantity)
    units = list(Unit.objects.filter(serial_key=short).select_related("item", "place")[:2])
    if len(units) == 1:
        return Thing("unit", text=text, unit=units[0], item=units[0].item)
    if units:
        question = "Two things carry this serial. Scan the longer code beside it."
        return Thing("unknown", text=text, question=question)
    return None


def _by_fields(text: str, fields: dict[str, Any]) -> Thing | None:
    gtin = fields.get("gtin")
    code = ItemCode.objects.filter(key=gtin).select_related("item").first() if gtin else None
    if code is None:
        return None
    item, serial, number = code.item, fields.get("serial"), fields.get("lot")
    if serial and item.tracking == "serial":
        wanted = serial_key(serial)
        unit = item.units.filter(serial_key=wanted).select_related("item", "place").first()
        if unit is None:
            return Thing("serial", text=text, item=item, serial=serial, fields=fields)
        return Thing("unit", text=text, unit=unit, item=item)
    expiry = str(fields.get("expiry") or "")
    if number:
        lot = item.lots.filter(key=serial_key(number)).select_related("item").first()
        return Thing(
            "lot" if lot else "item",
            text=text,
            item=item,
            lot=lot,
            pack=code.pack_quantity,
            lot_number=number,
            expiry=expiry,
            fields=fields,
        )
    return Thing("item", text=text, item=item, pack=code.pack_quantity, fields=fields)

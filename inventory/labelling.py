"""From a known thing to its label: which code it carries and what people read on it."""

from __future__ import annotations

from collections.abc import Callable

from inventory.codes import commands, own
from inventory.codes.check_digits import is_checked
from inventory.codes.errors import CodeError
from inventory.labels.errors import LabelRefused
from inventory.labels.label import CSET82, Label
from inventory.models import Item, Lot, Place, PlaceKind, Return, Unit, UnitAlias
from inventory.scanning import Thing
from inventory.words import amount

GTIN = 14  # digits
SHIPPED = 20  # digits: identifier 00 and a serial shipping container code
FREE = 20
"""Most characters of a serial (21) or batch (10). Source: GS1 General Specifications, section 3."""
KIND_OF = {
    PlaceKind.CARTON: "carton",
    PlaceKind.PARCEL: "parcel",
    PlaceKind.BAG: "bag",
    PlaceKind.BIN: "bin",
    PlaceKind.VAN: "van",
}
_BY_NUMBER: dict[str, Callable[[int], Label | None]] = {}
_MARKS: list[Callable[[Place], str]] = []


def register(kind: str, label: Callable[[int], Label | None]) -> None:
    """Let labels of a kind that is no thing (a badge, a return, a kit) be drawn by their number."""
    _BY_NUMBER[kind] = label


def register_mark(mark: Callable[[Place], str]) -> None:
    """Let a mark that is read from afar stand before a place's name; "": it has none."""
    _MARKS.append(mark)


def by_number(text: str) -> Label | None:
    """Return the label that a text of ours asks for, None where it names a thing or nothing."""
    try:
        read = own.parse(text.strip())
    except CodeError:
        return None
    find = _BY_NUMBER.get(read.kind)
    return find(read.number) if find is not None else None


def label_of(thing: Thing) -> Label:
    """Return the label of a thing. Raises LabelRefused, naming the text that means nothing."""
    if thing.unit is not None:
        return of_unit(thing.unit)
    if thing.place is not None:
        return of_place(thing.place)
    if thing.lot is not None:
        return of_lot(thing.lot)
    if thing.item is not None:
        return of_item(thing.item)
    if thing.kind == "badge":
        raise LabelRefused(f"{thing.text[:60]}: a badge is printed by a manager, of who works here")
    raise LabelRefused(f"{thing.text[:60]}: expected a code that is known here, got {thing.kind}")


def of_place(place: Place) -> Label:
    """A bin, van, box, parcel or bag; the lines say what it stands in, never whose it is."""
    around = tuple(one.name[:40] for one in place.way_up()[1:3])
    kind = KIND_OF.get(PlaceKind(place.kind), "place")
    named = ": ".join([*filter(None, (mark(place) for mark in _MARKS)), place.name])[:60]
    if len(place.code) == SHIPPED and place.code.startswith("00") and is_checked(place.code[2:]):
        # The number of a supplier's box: others read it too, so it stays a GS1 one.
        return Label(kind, named, pairs=(("00", place.code[2:]),), lines=around)
    return Label(kind, named, code=place.code, lines=around)


def code_of_return(back: Return) -> str:
    """The text of a return's label, the same for ever."""
    return own.make("return", back.pk)


def return_by_number(number: int) -> Label | None:
    """The label of what comes back: why, and what it is; None where nothing has this number."""
    back = Return.objects.filter(pk=number, event__reversed_by=None).first()
    if back is None:
        return None
    what = back.item.name if back.unit is not None else amount(back.quantity, back.item)
    serial = (back.unit.serial,) if back.unit is not None else ()
    lines = (back.get_kind_display(), what[:60], *serial)
    return Label("return", f"Return {back.code}", code=code_of_return(back), lines=lines)


def command_by_number(number: int) -> Label | None:
    """The label of a command of the wall sheet; None where none has this number."""
    if number not in commands.COMMANDS:
        return None
    return Label("command", commands.COMMANDS[number][1], code=commands.text_of(number))


def of_unit(unit: Unit) -> Label:
    """A thing with a serial: our own code if it has one, else article number and serial."""
    lines = (unit.serial, unit.item.code)
    own = unit.aliases.filter(kind=UnitAlias.Kind.OWN).first()
    if own is not None:
        return Label("unit", unit.item.name[:60], code=own.text, lines=lines)
    number = _article_number(unit.item)
    if number and _fits(unit.serial):
        pairs = (("01", number), ("21", unit.serial))
        return Label("unit", unit.item.name[:60], pairs=pairs, lines=lines)
    return Label("unit", unit.item.name[:60], code=unit.serial, lines=lines)


def of_lot(lot: Lot) -> Label:
    """A batch: article number, batch and expiry; without an article number the item's label."""
    if own.is_valid(lot.number):
        opened = f"opened {lot.opened_on}" if lot.opened_on else ""
        kept = f"use by {lot.expires_on}" if lot.expires_on else ""
        lines = tuple(filter(None, (opened, kept, lot.item.code)))
        return Label("lot", lot.item.name[:60], code=lot.number, lines=lines)
    number = _article_number(lot.item)
    if not (number and _fits(lot.number)):
        return of_item(lot.item)
    dated = f"use by {lot.expires_on}" if lot.expires_on else ""
    pairs: tuple[tuple[str, str], ...] = (("01", number), ("10", lot.number))
    if lot.expires_on:
        pairs = (("01", number), ("17", f"{lot.expires_on:%y%m%d}"), ("10", lot.number))
    lines = tuple(filter(None, (f"batch {lot.number}", dated)))
    return Label("lot", lot.item.name[:60], pairs=pairs, lines=lines)


def of_item(item: Item) -> Label:
    """A shelf label of an item: its first printed code."""
    code = item.codes.filter(label_pattern=False).order_by("pk").first()
    if code is None:
        raise LabelRefused(f"{item.code}: expected an item with a code of its own, got none")
    number = _article_number(item)
    if number:
        return Label("item", item.name[:60], pairs=(("01", number),), lines=(item.code,))
    return Label("item", item.name[:60], code=code.text, lines=(item.code,))


def _article_number(item: Item) -> str:
    """The item's article number as 14 digits that check, "" if it has none."""
    keys = item.codes.filter(label_pattern=False).order_by("pk").values_list("key", flat=True)
    return next((key for key in keys if len(key) == GTIN and is_checked(key)), "")


def _fits(text: str) -> bool:
    """Whether GS1 data may hold a serial or batch as it stands."""
    return len(text) <= FREE and CSET82.fullmatch(text) is not None

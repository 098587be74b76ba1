"""The bench: a kit is picked in the order of the bins, then loaded with one scan each."""

from __future__ import annotations

from collections.abc import Sequence

from inventory.labelling import of_item, of_lot
from inventory.labels.label import Label
from inventory.models import Place, PlaceKind
from kitting.demo.stage import Stage
from kitting.demo.worker import label_of_place, label_of_unit, label_outside
from kitting.models import Kit, Package
from kitting.overviews import Stop, walk
from kitting.queries import Left, left_of


def pick(stage: Stage, key: str, most: int | None = None) -> int:
    """Pick a kit as its page lists it, at most so many stops; return how many were picked."""
    wanda, kit = stage.workers["wanda"], stage.kit(key)
    wanda.hand.subject = kit.subject
    wanda.browser.open(f"/kits/{kit.code}/pick")
    stops = walk(kit).stops[:most]
    lines = _in_order(stops)
    read = wanda.look_ahead([label for label, _ in lines])
    for (text, via), (_, stop) in zip(read, lines, strict=True):
        if stop is not None:
            quantity = None if stop.source.unit else stop.source.quantity
            line = wanda.hand.line("pick", text, via, start=_bin(stop).code, quantity=quantity)
            wanda.send(line)
    wanda.hand.subject = ""
    return len(stops)


def _in_order(stops: Sequence[Stop]) -> list[tuple[Label, Stop | None]]:
    """Return what is scanned: a bin's label where another bin begins, then each thing's."""
    found: list[tuple[Label, Stop | None]] = []
    standing = ""
    for stop in stops:
        if _bin(stop).code != standing:
            standing = _bin(stop).code
            found.append((label_of_place(_bin(stop)), None))
        found.append((_label(stop), stop))
    return found


def _bin(stop: Stop) -> Place:
    assert stop.place is not None, "what lies on a shelf has a place"
    return stop.place.within(PlaceKind.BIN) or stop.place


def _label(stop: Stop) -> Label:
    if stop.source.unit is not None:
        return label_outside(stop.source.unit)
    lot = stop.source.lot
    return of_lot(lot) if lot is not None and lot.number else of_item(stop.line.item)


def load(stage: Stage, key: str) -> int:
    """Load a kit: parcels, boxes and long things, one scan each; return how many scans."""
    wanda, kit = stage.workers["wanda"], stage.kit(key)
    wanda.hand.subject = kit.subject
    wanda.browser.open(f"/kits/{kit.code}/load")
    labels = [label_of_place(place) for place in parcels(kit)]
    labels += [_outside(thing) for thing in loose(kit)]
    for text, via in wanda.look_ahead(labels):
        wanda.send(wanda.hand.line("load", text, via))
    wanda.hand.subject = ""
    return len(labels)


def parcels(kit: Kit) -> list[Place]:
    """Return the places of a kit's parcels."""
    found = kit.packages.filter(kind=Package.Kind.PARCEL).select_related("place__parent")
    return [package.place for package in found.order_by("number")]


def bags(kit: Kit) -> list[Package]:
    """Return a kit's bags that hold something, in the order of the steps."""
    found = kit.packages.filter(kind=Package.Kind.BAG, place__holdings__quantity__gt=0)
    return list(found.select_related("place__parent").distinct().order_by("number"))


def loose(kit: Kit) -> list[Left]:
    """Return what of a kit is in no parcel, each item once."""
    packed = {place.pk for place in parcels(kit)}
    found = {
        thing.unit or thing.item: thing
        for thing in left_of(kit)
        if packed.isdisjoint(place.pk for place in thing.place.way_up())
    }
    return list(found.values())


def _outside(thing: Left) -> Label:
    return label_outside(thing.unit) if thing.unit is not None else of_item(thing.item)


def own_label(thing: Left) -> Label:
    """Return the label that is on the thing itself."""
    return label_of_unit(thing.unit) if thing.unit is not None else of_item(thing.item)

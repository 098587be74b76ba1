"""The bench: a kit is picked in the order of the bins, then loaded with one scan each."""

from __future__ import annotations

from inventory.labelling import of_item, of_lot
from inventory.labels.label import Label
from inventory.models import Place, PlaceKind
from kitting.demo.stage import Stage
from kitting.demo.worker import Worker, label_of_place, label_of_unit, label_outside
from kitting.models import Kit, Package
from kitting.overviews import Stop, walk
from kitting.queries import Left, left_of


def pick(stage: Stage, key: str, most: int | None = None) -> int:
    """Pick a kit as its page lists it, at most so many stops; return how many were picked."""
    wanda, kit = stage.workers["wanda"], stage.kit(key)
    wanda.hand.subject = kit.subject
    wanda.browser.open(f"/kits/{kit.code}/pick")
    stops = walk(kit).stops[:most]
    standing = ""
    for stop in stops:
        standing = _pick(wanda, stop, standing)
    wanda.hand.subject = ""
    return len(stops)


def _pick(wanda: Worker, stop: Stop, standing: str) -> str:
    """Scan the bin if it is another one than before, then the thing; return the bin's code."""
    assert stop.place is not None, "what lies on a shelf has a place"
    bin_ = stop.place.within(PlaceKind.BIN) or stop.place
    if bin_.code != standing:
        wanda.look(label_of_place(bin_))
    source = stop.source
    if source.unit is not None:
        wanda.scan("pick", label_outside(source.unit), start=bin_.code)
    else:
        label = _label(stop)
        wanda.scan("pick", label, start=bin_.code, quantity=source.quantity)
    return bin_.code


def _label(stop: Stop) -> Label:
    lot = stop.source.lot
    return of_lot(lot) if lot is not None and lot.number else of_item(stop.line.item)


def load(stage: Stage, key: str) -> int:
    """Load a kit: parcels, boxes and long things, one scan each; return how many scans."""
    wanda, kit = stage.workers["wanda"], stage.kit(key)
    wanda.hand.subject = kit.subject
    wanda.browser.open(f"/kits/{kit.code}/load")
    labels = [label_of_place(place) for place in parcels(kit)]
    labels += [_outside(thing) for thing in loose(kit)]
    for label in labels:
        wanda.scan("load", label)
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

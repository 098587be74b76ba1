"""Receiving: what a supplier's delivery brings, scanned at the dock."""

from inventory.codes.serials import key, look_up_key
from inventory.intake import Act, Verdict
from inventory.ledger.steps import Ruling, ruling
from inventory.models import Finding, Lot, Place, PlaceKind, Role, Tracking, Unit
from inventory.moving import Writing, batch, nameless, outside
from inventory.queries import standing
from inventory.scanning import Thing, resolve


def receive(writes: Writing) -> Verdict:
    """Take a unit, a box with the unit in it ("with"), or a quantity in at the target place.

    kind "seen": the serial was read on the unit itself; else it is known from the box.
    """
    dock = Place.objects.filter(code=writes.line.target).first()
    if dock is None or dock.outside:
        return Verdict("stopped", "Say where it stands: scan a place of the depot.")
    thing = writes.thing
    if writes.line.companion:
        return _receive_box(writes, thing, resolve(writes.line.companion), dock)
    if thing.kind in ("serial", "unit", "box"):
        unit = _unit(writes, thing)
        return _arrive(writes, unit, dock)
    if thing.kind in ("item", "lot") and thing.item:
        return _receive_quantity(writes, thing, dock)
    if thing.kind == "place":
        return Verdict("noted", f"{thing.name} is here already.")
    writes.finding(Finding.Kind.UNKNOWN, f"Code {writes.line.text[:60]} is not known.", place=dock)
    return Verdict("problem", f"{thing.question} It is kept for the office to look at.")


def _receive_box(writes: Writing, outer: Thing, inner: Thing, dock: Place) -> Verdict:
    if inner.kind not in ("serial", "unit"):
        return Verdict("stopped", "The second code is not a serial we can read. Scan it again.")
    if outer.kind in ("unit", "serial", "item", "lot"):
        return Verdict("stopped", "The first code is not a box's own code. Scan the box again.")
    unit = _unit(writes, inner)
    box = outer.place
    if box is not None and (box.kind != PlaceKind.CARTON or unit.place_id == box.pk):
        return Verdict("noted", f"{unit} is in this box already.")
    ruled = ruling("receive", standing(unit.place))
    if ruled is Ruling.LATE:
        return Verdict("noted", f"{unit} was received before.")
    if box is None:
        box = writes.box(look_up_key(writes.line.text), f"Box of {unit.item.name}", dock)
    _move_in(writes, unit, box)
    return Verdict("applied", f"{unit} received in its box.")


def _unit(writes: Writing, thing: Thing) -> Unit:
    if thing.unit is not None:
        return thing.unit
    assert thing.item is not None, "a serial reading always names its item"
    return writes.meet(
        thing.item, thing.serial, key(thing.serial), evidence=writes.line.kind or "box"
    )


def _arrive(writes: Writing, unit: Unit, dock: Place) -> Verdict:
    ruled = ruling("receive", standing(unit.place))
    if ruled is Ruling.LATE:
        return Verdict("noted", f"{unit} was received before.")
    _move_in(writes, unit, dock)
    if ruled is Ruling.FINDING:
        words = f"{unit} came back though the book had it gone."
        writes.finding(Finding.Kind.SURPLUS, words, unit=unit)
        return Verdict("problem", words)
    return Verdict("applied", f"{unit} received.")


def _move_in(writes: Writing, unit: Unit, to: Place) -> None:
    """A unit nobody had comes from the supplier, not from `unexplained`."""
    writes.unit(unit, to, came_from=outside(PlaceKind.SUPPLIER))


def _receive_quantity(writes: Writing, thing: Thing, dock: Place) -> Verdict:
    item = thing.item
    assert item is not None
    if item.tracking == Tracking.SERIAL:
        return Verdict("stopped", f"{item.name} is followed by serial. Scan the serial code.")
    quantity = writes.line.quantity or thing.pack
    writes.arrive(_lot(thing), outside(PlaceKind.SUPPLIER), dock, quantity)
    return Verdict("applied", f"{quantity} {item.get_unit_display()} of {thing.name} received.")


def _lot(thing: Thing) -> Lot:
    assert thing.item is not None
    if thing.lot is not None:
        return thing.lot
    if thing.lot_number and thing.item.tracking == Tracking.LOT:
        return batch(thing.item, thing.lot_number, key(thing.lot_number), thing.expiry or None)
    return nameless(thing.item)


RECEIVE = Act("receive", frozenset({Role.WAREHOUSE, Role.MANAGER}), receive)

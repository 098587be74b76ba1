"""Receiving: what a supplier's delivery brings, scanned at the dock."""

from inventory.codes.serials import key, look_up_key
from inventory.intake import Act, Verdict
from inventory.ledger.steps import Ruling, Standing, ruling
from inventory.models import Finding, Lot, Place, PlaceKind, Role, Tracking, Unit
from inventory.moving import Writing, batch, nameless, outside
from inventory.queries import place_of_code, standing
from inventory.scanning import Thing, resolve
from inventory.words import amount

LONGEST_CODE = 120  # characters of a place's code


def receive(writes: Writing) -> Verdict:
    """Take a unit, a box with the unit in it ("with"), or a quantity in at the target place.

    kind "seen": the serial was read on the unit itself; else it is known from the box.
    """
    dock = place_of_code(writes.line.target)
    if dock is None or dock.outside:
        return Verdict("stopped", "Say where it stands: scan a place of the depot.")
    thing = writes.thing
    if writes.line.companion:
        return _receive_box(writes, thing, resolve(writes.line.companion), dock)
    unit = _unit(writes, thing)
    if unit is not None:
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
    box = outer.place
    if box is not None and box.kind != PlaceKind.CARTON:
        return Verdict("stopped", f"{box.name} is not a box. Scan the box's own code first.")
    code = look_up_key(writes.line.text)
    if box is None and len(code) > LONGEST_CODE:
        return Verdict("stopped", "This code is too long for a box's own code. Scan another one.")
    unit = _unit(writes, inner)
    assert unit is not None, "the kinds above name a unit"
    if outer.unit is not None and outer.unit.pk != unit.pk:
        return Verdict("stopped", f"This box belongs to another one, not to {unit}.")
    if box is not None and unit.place_id == box.pk:
        return Verdict("noted", f"{unit} is in this box already.")
    ruled = ruling("receive", standing(unit.place))
    if ruled is Ruling.LATE:
        return Verdict("noted", f"{unit} was received before.")
    if box is None:
        box = writes.box(code, f"Box of {unit.item.name}", dock)
    elif standing(box.parent) in (Standing.NOWHERE, Standing.OUTSIDE, Standing.GONE):
        writes.container(box, dock)
    writes.thing = Thing("place", text=writes.line.text, place=box)
    return _arrived(writes, unit, box, ruled)


def _unit(writes: Writing, thing: Thing) -> Unit | None:
    evidence = "seen" if writes.line.kind == "seen" else "box"
    return writes.unit_of(thing, evidence=evidence, provisional=False)


def _arrive(writes: Writing, unit: Unit, dock: Place) -> Verdict:
    ruled = ruling("receive", standing(unit.place))
    if ruled is Ruling.LATE:
        return Verdict("noted", f"{unit} was received before.")
    return _arrived(writes, unit, dock, ruled)


def _arrived(writes: Writing, unit: Unit, to: Place, ruled: Ruling) -> Verdict:
    # A unit nobody had comes from the supplier, not from `unexplained`.
    writes.unit(unit, to, came_from=outside(PlaceKind.SUPPLIER))
    if writes.line.kind == "seen":
        writes.seen(unit)
    if ruled is Ruling.FINDING:
        words = f"{unit} came back though the book had it gone."
        writes.finding(Finding.Kind.SURPLUS, words, unit=unit)
        return Verdict("problem", words)
    where = " in its box" if to.kind == PlaceKind.CARTON else ""
    return Verdict("applied", f"{unit} received{where}.")


def _receive_quantity(writes: Writing, thing: Thing, dock: Place) -> Verdict:
    item = thing.item
    assert item is not None
    if item.tracking == Tracking.SERIAL:
        return Verdict("stopped", f"{item.name} is followed by serial. Scan the serial code.")
    quantity = writes.line.quantity or thing.pack
    writes.arrive(_lot(thing), outside(PlaceKind.SUPPLIER), dock, quantity)
    number = f", batch {thing.lot_number}" if thing.lot_number else ""
    return Verdict("applied", f"{amount(quantity, item)}{number} received.")


def _lot(thing: Thing) -> Lot:
    assert thing.item is not None
    if thing.lot is not None:
        return thing.lot
    if thing.lot_number and thing.item.tracking == Tracking.LOT:
        return batch(thing.item, thing.lot_number, key(thing.lot_number), thing.expiry or None)
    return nameless(thing.item)


RECEIVE = Act("receive", frozenset({Role.WAREHOUSE, Role.MANAGER}), receive)

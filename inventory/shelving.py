"""Put-away and moving: place first, then the thing."""

from inventory import confirming, pieces, refilling, teaching
from inventory.intake import Act, Verdict
from inventory.ledger.steps import Ruling, Standing, ruling
from inventory.models import Finding, Item, Lot, Place, PlaceKind, Role, Unit
from inventory.moving import CannotMove, Writing
from inventory.queries import held, place_of_code, standing
from inventory.two_claims import ended


def put(writes: Writing) -> Verdict:
    """Put a unit, a box, parcel or bag, or a quantity ("from" says whence) at the target place."""
    to = place_of_code(writes.line.target)
    if to is None or to.outside:
        return Verdict("stopped", "Scan a place of ours first.")
    thing = writes.thing
    unit = writes.unit_of(thing)
    if unit is not None:
        return _put_unit(writes, unit, to)
    if thing.place is not None:
        if thing.place.parent_id == to.pk:
            return Verdict("noted", f"{thing.place.name} is there already.")
        _stays_at_the_depot(thing.place, to)
        writes.container(thing.place, to)
        return Verdict("applied", f"{thing.place.name} is now at {to.name}.")
    if thing.lot is not None and thing.lot.parent_id is not None:
        return pieces.put(writes, thing.lot, to)
    if thing.item is not None and thing.item.tracking != "serial":
        quantity = writes.line.quantity or thing.pack
        return _put_quantity(writes, thing.item, thing.lot, to, quantity)
    if thing.item is not None:
        return Verdict("stopped", f"{thing.item.name} is followed by serial. Scan the serial code.")
    teaching.ask(writes, to)
    return Verdict("problem", thing.question or "This code is not known here. It is kept.")


def _stays_at_the_depot(place: Place, to: Place) -> None:
    """Stop the bay of a kit, moved with all that stands in it, on its way off the depot."""
    if place.kind == PlaceKind.BAY and {standing(place.parent), standing(to)} != {Standing.SHELF}:
        raise CannotMove("Scan the boxes that stand in the bay, one by one")


def _put_unit(writes: Writing, unit: Unit, to: Place) -> Verdict:
    if unit.place_id == to.pk:
        return Verdict("noted", f"{unit} is there already.")
    ruled = ruling("put", standing(unit.place))
    if ruled is Ruling.DISPUTE:
        words = f"{unit} stands fitted at a site by the book, and was scanned at {to.name}."
        writes.finding(Finding.Kind.CLASH, words, unit=unit)
        return Verdict("dispute", words)
    before = unit.place.name if unit.place else "nowhere"
    writes.unit(unit, to)
    if ruled is Ruling.FINDING:
        words = f"{unit} put at {to.name}; the book had it at {before}."
        writes.finding(Finding.Kind.SURPLUS, words, unit=unit)
        return Verdict("problem", words)
    return Verdict("applied", f"{unit} is now at {to.name}.")


def _put_quantity(
    writes: Writing, item: Item, lot: Lot | None, to: Place, quantity: int
) -> Verdict:
    start = place_of_code(writes.line.start)
    if start is None or start.outside or start.pk == to.pk:
        return Verdict("stopped", "Scan the place it comes from, then the place it goes to.")
    if start.purpose and not to.purpose:
        raise CannotMove(f"What lies at {start.name} came back: look at it first")
    own = min(held(start, lot), quantity) if lot else 0
    if lot is not None and own:
        writes.lot(lot, start, to, own)
    lacking = writes.item(item, start, to, quantity - own) if quantity > own else 0
    refilling.filled(writes, to, item)
    if lacking:
        return Verdict("problem", f"{quantity} x {item.name} moved; the book lacked {lacking}.")
    return Verdict("applied", f"{quantity} x {item.name} moved to {to.name}.")


PUT = Act("put", frozenset({Role.WAREHOUSE, Role.MANAGER}), ended(confirming.ended(put)))

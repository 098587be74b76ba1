"""Receiving: what a supplier's delivery brings, scanned at the dock, now or when the driver left.

Where the event is about a delivery, its supplier's serial file names what a box holds, and a box
told to be bad at the door is set aside as it is scanned in.
"""

import re
from datetime import date

from inventory import confirming, newcomers, owed, refilling, teaching, waiting_for
from inventory.codes.serials import key, look_up_key
from inventory.door import delivery_of, told_bad
from inventory.intake import Act, Verdict
from inventory.ledger.line import parse
from inventory.ledger.steps import Ruling, Standing, ruling
from inventory.models import (
    Delivery,
    Event,
    Finding,
    ListedSerial,
    Lot,
    Place,
    PlaceKind,
    Role,
    Tracking,
    Unit,
)
from inventory.moving import CannotMove, Writing, batch, nameless, outside
from inventory.queries import place_of_code, standing
from inventory.scanning import NOBODY, Thing, resolve
from inventory.words import amount

LONGEST_CODE = 120  # characters of a place's code
DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")  # a code may name the month alone
ARTICLE = (
    "This is the article number, not a serial. Scan the serial; if none is outside on the box, "
    "say so and leave it closed."
)


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
    listed = _listed(writes, thing)
    if listed:
        return _receive_listed(writes, listed, dock)
    unit = _unit(writes, thing)
    if unit is not None:
        return _arrive(writes, unit, dock)
    if thing.kind in ("item", "lot") and thing.item:
        return _receive_quantity(writes, thing, dock)
    if thing.kind == "place":
        return Verdict("noted", f"{thing.name} is here already.")
    teaching.ask(writes, dock)
    return Verdict("problem", f"{thing.question} It is kept for the office to look at.")


def _receive_box(writes: Writing, outer: Thing, inner: Thing, dock: Place) -> Verdict:
    no_serial = _by_serial(inner)
    wrong = _no_box(writes, outer, inner)
    if wrong:
        return Verdict("stopped", wrong)
    box, code = outer.place, look_up_key(writes.line.text)
    owing = None if no_serial else owed.in_box(box, inner.item)
    if owing is not None and inner.kind == "serial":
        owed.name(writes, owing, inner.serial, _evidence(writes))
        writes.thing = Thing("unit", text=writes.line.text, unit=owing, item=owing.item)
        return Verdict("applied", f"{owing}: the serial it owed.")
    if owing is not None and inner.unit is not None:
        return _after_all(writes, owing, inner.unit)
    kind = inner.item if no_serial else None
    if kind and (came := owed.came_in(box, kind)):
        return Verdict("noted", f"{came} came in this box already.")
    unit = owed.enter(writes, kind, code) if kind else _unit(writes, inner)
    assert unit is not None, "the kinds above name a unit"
    if outer.unit is not None and outer.unit.pk != unit.pk:
        return Verdict("stopped", f"This box belongs to another one, not to {unit}.")
    if box is not None and unit.place_id == box.pk:
        return Verdict("noted", f"{unit} is in this box already.")
    ruled = ruling("receive", standing(unit.place))
    if ruled is Ruling.LATE:
        return _late(writes, unit)
    box = _at_dock(writes, box, f"Box of {unit.item.name}", dock)
    return _arrived(writes, unit, box, ruled)


def _after_all(writes: Writing, owing: Unit, unit: Unit) -> Verdict:
    """A serial that was entered before is that of a box which owes one.

    Its first scan was undone, or the book had it gone; what stood in for it leaves the book.
    """
    box, ruled = owing.place, ruling("receive", standing(unit.place))
    assert box is not None, "it stands in its box"
    if ruled is Ruling.LATE:
        return Verdict("noted", f"{unit} was received before.")
    if standing(box) is not Standing.SHELF:
        there = f"{box.name} is packed already, and {unit} was entered before it"
        raise CannotMove(f"{there}. Take the box out of the kit first")
    writes.unit(owing, outside(PlaceKind.SUPPLIER))
    arrived = _arrived(writes, unit, box, ruled)
    writes.thing = Thing("unit", text=writes.line.text, unit=unit, item=unit.item)
    if arrived.word == "problem":
        return arrived
    return Verdict("applied", f"{unit}: the serial it owed.")


def _by_serial(thing: Thing) -> bool:
    """Whether an article code was scanned whose things have serials."""
    return bool(thing.kind == "item" and thing.item and thing.item.tracking == Tracking.SERIAL)


def _no_box(writes: Writing, outer: Thing, inner: Thing) -> str:
    """Say why the two codes are no box and no thing in it, "" where they are."""
    if _by_serial(inner) and writes.line.kind != "owed":
        return ARTICLE
    if inner.kind not in ("serial", "unit") and not _by_serial(inner):
        asked = inner.question if inner.kind == "unknown" else ""
        if asked and not asked.startswith(NOBODY):
            return f"The second code cannot be read. {asked}"
        return "The second code is not a serial we can read. Scan it again."
    if outer.kind in ("unit", "serial", "item", "lot"):
        return "The first code is not a box's own code. Scan the box again."
    box = outer.place
    if box is not None and box.kind != PlaceKind.CARTON:
        return f"{box.name} is not a box. Scan the box's own code first."
    if box is None and len(look_up_key(writes.line.text)) > LONGEST_CODE:
        return "This code is too long for a box's own code. Scan another one."
    return ""


def _at_dock(writes: Writing, box: Place | None, name: str, dock: Place) -> Place:
    """Return the scanned box, standing at the dock; set aside if it was told to be bad."""
    if box is None:
        box = writes.box(look_up_key(writes.line.text), name, dock)
    elif standing(box.parent) in (Standing.NOWHERE, Standing.OUTSIDE, Standing.GONE):
        writes.container(box, dock)
    writes.thing = Thing("place", text=writes.line.text, place=box)
    delivery = delivery_of(writes.line.subject)
    bad = told_bad(delivery, writes.line.text) if delivery else ""
    if bad and not box.holds.filter(release=None).exists():
        writes.set_aside(box, bad)
    return box


def _listed(writes: Writing, thing: Thing) -> list[ListedSerial]:
    """What the supplier's file says is in the scanned box; nothing for one it does not name."""
    delivery: Delivery | None = delivery_of(writes.line.subject)
    if delivery is None or thing.kind not in ("unknown", "place"):
        return []
    named = delivery.listed.current().filter(box=look_up_key(writes.line.text)).exclude(box="")
    return list(named.select_related("item"))


def _receive_listed(writes: Writing, listed: list[ListedSerial], dock: Place) -> Verdict:
    """One scan of a box that the file names brings all that is in it, known from the file alone."""
    box = writes.thing.place
    if box is not None and box.kind != PlaceKind.CARTON:
        return Verdict("stopped", f"{box.name} is not a box. Scan the box's own code first.")
    names, late, gone = [], [], []
    for line in listed:
        unit = Unit.objects.filter(item=line.item, serial_key=line.key).select_related("place")
        known = unit.first() or writes.meet(line.item, line.serial, line.key, evidence="listed")
        ruled = ruling("receive", standing(known.place))
        if ruled is Ruling.LATE:
            late.append(_late(writes, known).sentence)
            continue
        if ruled is Ruling.FINDING:
            back = f"{known} came in though the book had it gone."
            writes.finding(Finding.Kind.SURPLUS, back, unit=known)
            gone.append(back)
        box = _at_dock(writes, box, f"Box of {line.item.name}", dock)
        writes.unit(known, box, came_from=outside(PlaceKind.SUPPLIER))
        names.append(str(known))
    if not names:
        done = writes.event.answers.exists()
        return Verdict("applied" if done else "noted", " ".join(late))
    waits = waiting_for.words(listed[0].item, len(names), writes.event.received_at.date())
    words = f"{', '.join(names)} received in its box, by the file.{waits}"
    return Verdict("problem", " ".join([words, *gone])) if gone else Verdict("applied", words)


def _evidence(writes: Writing) -> str:
    return "seen" if writes.line.kind == "seen" else "box"


def _unit(writes: Writing, thing: Thing) -> Unit | None:
    unit = writes.unit_of(thing, evidence=_evidence(writes), provisional=False)
    made = str(thing.fields.get("made") or "")
    if unit is not None and unit.made_on is None and DAY.fullmatch(made):
        writes.read(unit, made_on=date.fromisoformat(made))
    return unit


def _arrive(writes: Writing, unit: Unit, dock: Place) -> Verdict:
    ruled = ruling("receive", standing(unit.place))
    if ruled is Ruling.LATE:
        return _late(writes, unit)
    return _arrived(writes, unit, dock, ruled)


def _late(writes: Writing, unit: Unit) -> Verdict:
    """It stands somewhere of ours: received before, or scanned there before anybody received it."""
    if not unit.provisional:
        return Verdict("noted", f"{unit} was received before.")
    confirming.confirm(writes, unit)
    return Verdict("applied", f"{unit} is received; it went on to {unit.place} before.")


def _arrived(writes: Writing, unit: Unit, to: Place, ruled: Ruling) -> Verdict:
    known = unit.place is not None
    if unit.provisional:
        confirming.confirm(writes, unit)
    # A unit nobody had comes from the supplier, not from `unexplained`.
    writes.unit(unit, to, came_from=outside(PlaceKind.SUPPLIER))
    if writes.line.kind == "seen":
        writes.seen(unit)
    if ruled is Ruling.FINDING:
        words = f"{unit} came back though the book had it gone."
        writes.finding(Finding.Kind.SURPLUS, words, unit=unit)
        return Verdict("problem", words)
    recalled, named = newcomers.met(writes, [unit]) if known else (False, "")
    if recalled:
        return Verdict("problem", f"{unit} received. {named}")
    where = " in its box" if to.kind == PlaceKind.CARTON else ""
    waits = waiting_for.words(unit.item, 1, writes.event.received_at.date())
    if unit.evidence == "owed":
        return Verdict("applied", f"{unit.item.name} received{where}, serial owed.{waits}")
    return Verdict("applied", f"{unit} received{where}.{waits}")


def _receive_quantity(writes: Writing, thing: Thing, dock: Place) -> Verdict:
    item = thing.item
    assert item is not None
    if item.tracking == Tracking.SERIAL:
        return Verdict("stopped", f"{item.name} is followed by serial. Scan the serial code.")
    quantity = writes.line.quantity or thing.pack
    lot = _lot(thing)
    writes.arrive(lot, outside(PlaceKind.SUPPLIER), dock, quantity)
    refilling.filled(writes, dock, item)
    recalled, named = newcomers.met(writes, [lot])
    number = f", batch {thing.lot_number}" if thing.lot_number else ""
    waits = waiting_for.words(item, quantity, writes.event.received_at.date())
    said = f"{amount(quantity, item)}{number} received. {named}".rstrip()
    return Verdict("problem" if recalled else "applied", f"{said}{waits}")


def _lot(thing: Thing) -> Lot:
    assert thing.item is not None
    if thing.lot is not None:
        return thing.lot
    if thing.lot_number and thing.item.tracking == Tracking.LOT:
        return batch(thing.item, thing.lot_number, key(thing.lot_number), thing.expiry or None)
    return nameless(thing.item)


def _undo(writes: Writing, done: Event) -> None:
    """A scan that only named a unit is forgotten: the unit owes its serial again."""
    confirming.undone(done)
    line = parse(done.line)
    unit = resolve(line.companion).unit if line.companion else None
    if unit is None or done.movements.exists() or unit.place is None:
        return
    first = unit.movements.order_by("pk").select_related("event").first()
    came_owed = first is not None and parse(first.event.line).kind == "owed"
    named = done.outcomes.filter(verdict="applied").exists()
    if came_owed and named:
        if unit.place.code != look_up_key(line.text):
            raise CannotMove(f"{unit} has moved on since")
        owed.forget(unit)


RECEIVE = Act(
    "receive", frozenset({Role.WAREHOUSE, Role.MANAGER}), confirming.ended(receive), undo=_undo
)

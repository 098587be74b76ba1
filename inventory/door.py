"""At the door: boxes counted against the note, bad ones told, while the driver still stands there.

Only what is out of order costs a touch. Each act is about "delivery:<code>".
"""

from __future__ import annotations

from inventory import claims
from inventory.arrivals import BAD, Bad, Door, door
from inventory.codes.serials import look_up_key
from inventory.intake import Act, Verdict
from inventory.ledger.line import parse
from inventory.models import (
    About,
    Delivery,
    Event,
    Finding,
    Partner,
    Place,
    PlaceKind,
    Role,
)
from inventory.moving import CannotMove, Writing, outside

DESK = frozenset({Role.WAREHOUSE, Role.MANAGER})


def delivery_of(subject: str) -> Delivery | None:
    """Return the delivery an event is about, None if it is about none."""
    prefix, _, code = subject.partition(":")
    if prefix != "delivery":
        return None
    found = Delivery.objects.filter(code=code)
    return found.select_related("supplier", "carrier", "dock").first()


def _whole(writes: Writing) -> Door:
    delivery = delivery_of(writes.line.subject)
    if delivery is None:
        raise CannotMove("Say which delivery this is about")
    return door(delivery)


def count_boxes(writes: Writing) -> Verdict:
    """So many boxes ("quantity") stand at the door; the latest count of a delivery counts."""
    at, came = _whole(writes), writes.line.quantity
    delivery = at.delivery
    if came is None:
        raise CannotMove("Say how many boxes there are")
    if at.gone_at is not None:
        raise CannotMove("The driver has gone. What is missing now is a problem of its own")
    _counted_again(writes, delivery)
    at.came = came
    words = at.slip[0]
    if came < delivery.boxes:
        writes.finding(Finding.Kind.MISSING, words, quantity=at.missing)
        claims.open_claim(writes, delivery, delivery.supplier, About.SHORTAGE, words)
    elif came > delivery.boxes:
        writes.finding(Finding.Kind.SURPLUS, words, quantity=came - delivery.boxes)
    if came == delivery.boxes:
        return Verdict("applied", f"{words} All came.")
    return Verdict("problem", f"{words} It goes on the driver's slip.")


def _counted_again(writes: Writing, delivery: Delivery) -> None:
    kinds = (Finding.Kind.MISSING, Finding.Kind.SURPLUS)
    about = Finding.objects.filter(subject=delivery.subject, kind__in=kinds, answer=None)
    # Its item is that of a bag opened and counted: such a finding is none of the boxes'.
    for finding in about.filter(item=None):
        writes.answer(finding, "Counted again.")
    # An undo puts a claim of an earlier count back: that one too.
    counted = {"delivery": delivery, "event__step__in": ("count_boxes", "undo")}
    claims.withdraw(writes, "Counted again.", **counted)


def pallet_photo(writes: Writing) -> Verdict:
    """One photo of a pallet's side, as it stands at the door."""
    at = _whole(writes)
    if not writes.line.photo:
        raise CannotMove("Take the photo first")
    return Verdict("applied", f"Photo {len(at.sides) + 1} of the pallets is kept.")


def bad_box(writes: Writing) -> Verdict:
    """A box is bad outside (kind: one of BAD), with a photo; its code if somebody scanned it."""
    at, kind = _whole(writes), writes.line.kind
    delivery = at.delivery
    if kind not in BAD:
        raise CannotMove("Say what is wrong with the box")
    if not writes.line.photo:
        raise CannotMove("Photograph the box")
    name = _name(writes)
    if _told(writes, [one for one in (*at.bad, *at.later) if one.kind == kind]):
        return Verdict("noted", f"{name}: {BAD[kind]}, told before.")
    writes.finding(Finding.Kind.DAMAGED, f"{name}: {BAD[kind]}.", place=_box(writes))
    # A box that is not received yet is set aside when it is scanned in.
    box = _box(writes)
    if box is not None:
        writes.set_aside(box, f"{BAD[kind]} when it came")
    about = About.HIDDEN if at.gone_at else About.DAMAGE
    words = f"{name}: {BAD[kind]}"
    claim = claims.open_claim(writes, delivery, _carried_by(delivery), about, words)
    if not at.gone_at:
        return Verdict("problem", f"{words}. It goes on the driver's slip.")
    last = claim.dues.order_by("-at").first()
    if last is not None and last.at < writes.event.received_at:
        over = f"The time to tell {claim.partner} ended on {last.at:%-d %b} ({last.source})"
        return Verdict("problem", f"{words}. {over}: ask the supplier.")
    return Verdict("problem", f"{words}. Tell {claim.partner}.")


def refuse_box(writes: Writing) -> Verdict:
    """A box is not taken: it stays with the driver; kind says what is wrong with it."""
    at, kind = _whole(writes), writes.line.kind
    if at.gone_at is not None:
        raise CannotMove("The driver has gone. Tell it as a bad box; it is set aside")
    if kind not in BAD:
        raise CannotMove("Say what is wrong with the box")
    name, box = _name(writes), _box(writes)
    if _told(writes, at.refused):
        return Verdict("noted", f"{name} was not accepted before. It goes back with the driver.")
    if box is not None:
        _give_back(writes, box)
    writes.finding(Finding.Kind.REFUSED, f"{name} not accepted: {BAD[kind]}.", place=box)
    words = f"{name} not accepted: {BAD[kind]}"
    for told in _same(writes, at.bad):
        # One box is claimed once: as not accepted.
        _withdraw_bad(writes, at.delivery, told.text, told.words, "Not accepted after all.")
    claims.open_claim(writes, at.delivery, _carried_by(at.delivery), About.DAMAGE, words)
    return Verdict("problem", f"{words}. It goes back with the driver and on the slip.")


def _told(writes: Writing, before: list[Bad]) -> bool:
    """Whether somebody told it of this very box: two people at one pallet make it one problem."""
    key = look_up_key(writes.line.text)
    return bool(key) and any(one.text and look_up_key(one.text) == key for one in before)


def driver_gone(writes: Writing) -> Verdict:
    """The slip is signed with its remark and the driver leaves; serials are scanned later."""
    at = _whole(writes)
    if at.came is None:
        raise CannotMove("Count the boxes first: what is signed without a remark is accepted")
    if at.gone_at is not None:
        return Verdict("noted", "The driver has gone already.")
    return Verdict("applied", " ".join(["On the slip:", *at.slip]))


def _box(writes: Writing) -> Place | None:
    place = writes.thing.place
    if place is not None and place.kind != PlaceKind.CARTON:
        raise CannotMove(f"{place.name} is not a box. Scan the box's own code, or none")
    unit = writes.thing.unit
    if place is None and unit is not None and unit.place is not None:
        return unit.place if unit.place.kind == PlaceKind.CARTON else None
    return place


def _same(writes: Writing, told: list[Bad]) -> list[Bad]:
    """Those that are about the box of this event."""
    key = look_up_key(writes.line.text)
    return [one for one in told if key and look_up_key(one.text) == key]


def _give_back(writes: Writing, box: Place) -> None:
    """A box that was scanned in leaves again, and all that the book has in it."""
    carrier = outside(PlaceKind.CARRIER)
    for unit in box.units.select_related("item", "lot", "place").order_by("pk"):
        writes.unit(unit, carrier)
    held = box.holdings.filter(quantity__gt=0).select_related("lot")
    for holding in held.order_by("lot__item__code", "lot__key"):
        writes.lot(holding.lot, box, carrier, holding.quantity)
    writes.container(box, carrier)


def _name(writes: Writing) -> str:
    return f"Box {writes.line.text[:40]}" if writes.line.text else "A box"


def _carried_by(delivery: Delivery) -> Partner:
    return delivery.carrier or delivery.supplier


def told_bad(delivery: Delivery, code: str) -> str:
    """Return why a box of this code was told to be bad at the door, "" if it was not."""
    at = door(delivery)
    key = look_up_key(code)
    told = (*at.bad, *at.later, *at.refused)
    bad = [one for one in told if one.text and look_up_key(one.text) == key]
    return f"{bad[-1].words} when it came" if bad else ""


def _undo(writes: Writing, done: Event) -> None:
    claims.undone(writes, done)
    line, delivery = parse(done.line), delivery_of(done.subject)
    if line.text and delivery is not None:
        _withdraw_bad(writes, delivery, line.text, BAD.get(line.kind, ""), "Undone.")


def _withdraw_bad(writes: Writing, delivery: Delivery, text: str, kind: str, why: str) -> None:
    """Close what was claimed of a bad box, whichever event opened it: an undo may have, again."""
    told = f"Box {text[:40]}: {kind}"
    claims.withdraw(writes, why, delivery=delivery, words=told)


def _undo_refusal(writes: Writing, done: Event) -> None:
    """A box that was told to be bad before it was refused is claimed as that again."""
    claims.undone(writes, done)
    delivery = delivery_of(done.subject)
    key = look_up_key(parse(done.line).text)
    if delivery is None or not key:
        return
    for told in door(delivery).bad:
        if look_up_key(told.text) == key:
            words = f"Box {told.text[:40]}: {told.words}"
            claims.open_claim(writes, delivery, _carried_by(delivery), About.DAMAGE, words)


def _undo_count(writes: Writing, done: Event) -> None:
    """The count before it stands again, and asks for what it asked for."""
    claims.undone(writes, done)
    delivery = delivery_of(done.subject)
    at = door(delivery) if delivery else None
    asked = {"delivery": delivery, "event__step__in": ("count_boxes", "undo")}
    if at is not None and at.missing and not claims.open_ones().filter(**asked).exists():
        claims.open_claim(writes, at.delivery, at.delivery.supplier, About.SHORTAGE, at.slip[0])


COUNT_BOXES = Act("count_boxes", DESK, count_boxes, undo=_undo_count)
PALLET_PHOTO = Act("pallet_photo", DESK, pallet_photo)
BAD_BOX = Act("bad_box", DESK, bad_box, undo=_undo)
REFUSE_BOX = Act("refuse_box", DESK, refuse_box, undo=_undo_refusal)
DRIVER_GONE = Act("driver_gone", DESK, driver_gone)

"""At the door: boxes counted against the note, bad ones told, while the driver still stands there.

Only what is out of order costs a touch. Each act is about "delivery:<code>".
"""

from __future__ import annotations

from django.db.models import QuerySet

from inventory import claims
from inventory.arrivals import BAD, Bad, Door, door
from inventory.codes.serials import look_up_key
from inventory.intake import Act, Verdict
from inventory.ledger.line import parse
from inventory.models import (
    About,
    Claim,
    Delivery,
    Event,
    Finding,
    Partner,
    Place,
    PlaceKind,
    Role,
)
from inventory.moving import CannotMove, Writing, outside
from inventory.scanning import Thing, resolve

DESK = frozenset({Role.WAREHOUSE, Role.MANAGER})
UNDO = "undo"  # step of an event that takes another back


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
    if kind not in BAD:
        raise CannotMove("Say what is wrong with the box")
    if not writes.line.photo:
        raise CannotMove("Photograph the box")
    told = _now(writes)
    if told.again(one for one in (*at.bad, *at.later) if one.kind == kind):
        return Verdict("noted", f"{_bad_words(told)}, told before.")
    words = _bad_words(told)
    claim = _tell_bad(writes, at, told, _box(writes.thing), at.gone_at is not None)
    if not at.gone_at:
        return Verdict("problem", f"{words}. It goes on the driver's slip.")
    last = claim.dues.order_by("-at").first()
    if last is not None and last.at < writes.event.received_at:
        over = f"The time to tell {claim.partner} ended on {last.at:%-d %b} ({last.source})"
        return Verdict("problem", f"{words}. {over}: ask the supplier.")
    return Verdict("problem", f"{words}. Tell {claim.partner}.")


def _now(writes: Writing) -> Bad:
    """What is told of a box by the event that is judged."""
    line = writes.line
    return Bad(writes.event, line.text, line.kind, line.photo)


def _tell_bad(writes: Writing, at: Door, told: Bad, box: Place | None, late: bool) -> Claim:
    """Open problem and claim of a box that is bad outside, and set it aside.

    A box that is not received yet is set aside when it is scanned in.
    """
    words, subject = _bad_words(told), at.delivery.subject
    kind = Finding.Kind.DAMAGED
    writes.finding(kind, f"{words}.", place=box, subject=subject, photo=told.photo)
    if box is not None:
        writes.set_aside(box, _aside(told))
    about = About.HIDDEN if late else About.DAMAGE
    return claims.open_claim(writes, at.delivery, _carried_by(at.delivery), about, words)


def refuse_box(writes: Writing) -> Verdict:
    """A box is not taken: it stays with the driver; kind says what is wrong with it."""
    at, kind = _whole(writes), writes.line.kind
    if at.gone_at is not None:
        raise CannotMove("The driver has gone. Tell it as a bad box; it is set aside")
    if kind not in BAD:
        raise CannotMove("Say what is wrong with the box")
    told, box = _now(writes), _box(writes.thing)
    if told.again(at.refused):
        before = f"{_named(told.text)} was not accepted before."
        return Verdict("noted", f"{before} It goes back with the driver.")
    words = _refuse(writes, at, told, box)
    return Verdict("problem", f"{words}. It goes back with the driver and on the slip.")


def _refuse(writes: Writing, at: Door, told: Bad, box: Place | None) -> str:
    """Give the box back to the driver and claim it, once: as not accepted."""
    if box is not None:
        _give_back(writes, box)
    words, subject = _refused_words(told), at.delivery.subject
    kind = Finding.Kind.REFUSED
    writes.finding(kind, f"{words}.", place=box, subject=subject, photo=told.photo)
    for bad in at.bad:
        if told.same_box(bad):
            _withdraw(writes, at.delivery, _bad_words(bad), "Not accepted after all.")
    claims.open_claim(writes, at.delivery, _carried_by(at.delivery), About.DAMAGE, words)
    return words


def driver_gone(writes: Writing) -> Verdict:
    """The slip is signed with its remark and the driver leaves; serials are scanned later."""
    at = _whole(writes)
    if at.came is None:
        raise CannotMove("Count the boxes first: what is signed without a remark is accepted")
    if at.gone_at is not None:
        return Verdict("noted", "The driver has gone already.")
    return Verdict("applied", " ".join(["On the slip:", *at.slip]))


def _box(thing: Thing) -> Place | None:
    place = thing.place
    if place is not None and place.kind != PlaceKind.CARTON:
        raise CannotMove(f"{place.name} is not a box. Scan the box's own code, or none")
    unit = thing.unit
    if place is None and unit is not None and unit.place is not None:
        return unit.place if unit.place.kind == PlaceKind.CARTON else None
    return place


def _give_back(writes: Writing, box: Place) -> None:
    """A box that was scanned in leaves again, and all that the book has in it."""
    carrier = outside(PlaceKind.CARRIER)
    for unit in box.units.select_related("item", "lot", "place").order_by("pk"):
        writes.unit(unit, carrier)
    held = box.holdings.filter(quantity__gt=0).select_related("lot")
    for holding in held.order_by("lot__item__code", "lot__key"):
        writes.lot(holding.lot, box, carrier, holding.quantity)
    writes.container(box, carrier)


def _named(text: str) -> str:
    return f"Box {text[:40]}" if text else "A box"


def _bad_words(told: Bad) -> str:
    return f"{_named(told.text)}: {told.words}"


def _refused_words(told: Bad) -> str:
    return f"{_named(told.text)} not accepted: {told.words}"


def _aside(told: Bad) -> str:
    """Why a box that was told to be bad is set aside."""
    return f"{told.words} when it came"


def _carried_by(delivery: Delivery) -> Partner:
    return delivery.carrier or delivery.supplier


def told_bad(delivery: Delivery, code: str) -> str:
    """Return why a box of this code was told to be bad at the door, "" if it was not."""
    at = door(delivery)
    key = look_up_key(code)
    told = (*at.bad, *at.later, *at.refused)
    bad = [one for one in told if one.text and look_up_key(one.text) == key]
    return _aside(bad[-1]) if bad else ""


def _undo(writes: Writing, done: Event) -> None:
    """Somebody else may have told the same of the same box: that telling counts from now on."""
    claims.undone(writes, done)
    delivery, gone = delivery_of(done.subject), _of(done)
    if not gone.text or delivery is None:
        return
    at, box = door(delivery), _box(resolve(gone.text))
    same = [b for b in (*at.bad, *at.later) if b.kind == gone.kind and gone.same_box(b)]
    if same and _claimed(delivery, _bad_words(same[0])).exists():
        return
    _withdraw(writes, delivery, _bad_words(gone), "Undone.")
    _answer_undone(writes, delivery, _bad_words(gone))
    _free_undone(writes, box, gone)
    if same and not _acted(same[0]):
        _tell_bad(writes, at, same[0], box, same[0] in at.later)


def _undo_refusal(writes: Writing, done: Event) -> None:
    """A box that somebody else refused too stays refused; told to be bad before, it is that again.

    Several faults of one box are claimed each.
    """
    claims.undone(writes, done)
    delivery, gone = delivery_of(done.subject), _of(done)
    if delivery is None or not gone.text:
        return
    at = door(delivery)
    same = [told for told in at.refused if gone.same_box(told)]
    if same and (_acted(same[0]) or _claimed(delivery, _refused_words(same[0])).exists()):
        return
    _withdraw(writes, delivery, _refused_words(gone), "Undone.")
    _answer_undone(writes, delivery, _refused_words(gone))
    if same and (done.movements.exists() or done.container_moves.exists()):
        # An undo moves back what was moved and nothing else: the box would stand here again.
        who = same[0].event.person.name
        raise CannotMove(f"{_named(gone.text)} was refused by {who} too. Undo that first")
    if same:
        _refuse(writes, at, same[0], None)
    for told in at.bad:
        if gone.same_box(told) and not _claimed(delivery, _bad_words(told)).exists():
            words = _bad_words(told)
            claims.open_claim(writes, delivery, _carried_by(delivery), About.DAMAGE, words)


def _of(event: Event) -> Bad:
    line = parse(event.line)
    return Bad(event, line.text or "", line.kind, line.photo)


def _acted(told: Bad) -> bool:
    """Whether its own event opened what it asks for; one told again had opened nothing."""
    last = told.event.outcomes.order_by("-number").first()
    return last is not None and last.verdict != "noted"


def _claimed(delivery: Delivery, words: str) -> QuerySet[Claim]:
    """What is claimed of a box, whichever event opened it: an undo may have, for another."""
    return claims.open_ones().filter(delivery=delivery, words=words)


def _withdraw(writes: Writing, delivery: Delivery, words: str, why: str) -> None:
    claims.withdraw(writes, why, pk__in=_claimed(delivery, words).values("pk"))


# What an undo opened for a second telling is of no event that can be undone: it is ended by hand.


def _answer_undone(writes: Writing, delivery: Delivery, words: str) -> None:
    about = Finding.objects.filter(subject=delivery.subject, words=f"{words}.", answer=None)
    for finding in about.filter(event__step=UNDO):
        writes.answer(finding, "Undone.")


def _free_undone(writes: Writing, box: Place | None, gone: Bad) -> None:
    holds = box.holds.filter(release=None, event__step=UNDO) if box is not None else ()
    for hold in holds:
        if hold.reason == _aside(gone):
            writes.release(hold)


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

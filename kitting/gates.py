"""What stops a person before anything moves: the hold, the recall, the other job, the barred mix.

A gate raises CannotMove; intake answers "stopped" with its sentence and nothing has moved. Those
that call `stop` a lead may let through. What is merely odd stops nobody: see hand_wins.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

from django.db.models import F, Q

from inventory import charging, claiming, freezing
from inventory.intake import Verdict
from inventory.models import (
    Event,
    Finding,
    Hold,
    Holding,
    Item,
    Lot,
    Person,
    Place,
    PlaceKind,
    Unit,
)
from inventory.moving import CannotMove, Writing
from inventory.queries import open_hold, within
from inventory.rows import Question
from kitting import signing, snapshot
from kitting.access import kit_of_subject, may_see
from kitting.leading import stop
from kitting.models import AsBuilt, Kit
from kitting.shelves import in_its_places, is_own_bag

SAME_LOOK = timedelta(seconds=1.5)  # a code read again so soon, never gone from view, is one look
DANGER = "danger"  # kind of an event: it comes off at once, for danger
_ANY_OPEN = Question(lambda: Hold.objects.filter(release=None).values_list("pk").order_by()[:1])
BOX_LABEL = "This is the box's label. Scan the label on the thing itself"


class Claimed(Exception):
    """What is to move is packed for another kit: two claims, a person decides."""

    def __init__(self, words: str, place: Place, told: str) -> None:
        """words: for who scanned; told: for who decides."""
        super().__init__(words)
        self.place, self.told = place, told


def decided(act: Callable[[Writing], Verdict]) -> Callable[[Writing], Verdict]:
    """Let an act end in a dispute where what it should move is another kit's."""

    def or_two_claims(writes: Writing) -> Verdict:
        try:
            return act(writes)
        except Claimed as claim:
            writes.finding(Finding.Kind.CLASH, claim.told, place=claim.place)
            return Verdict("dispute", f"{claim}. The office decides.")

    return or_two_claims


def open_kit(writes: Writing) -> Kit:
    """Return the kit the event is about; it is released and not closed."""
    kit = kit_of_subject(writes.line.subject)
    if kit is None:
        raise CannotMove("Say which kit this is for")
    if kit.released_at is None:
        raise CannotMove(f"{kit.code} is not released yet")
    if kit.closed_by_id is not None:
        raise CannotMove(f"{kit.code} is closed")
    return kit


def own_label(writes: Writing) -> Unit:
    """Return the unit whose own label was read. Stops box labels."""
    thing = writes.thing
    boxed = thing.place is not None and thing.place.kind == "carton"
    if thing.kind == "box" or boxed:
        raise CannotMove(BOX_LABEL)
    if thing.place is not None or thing.unit is None:
        raise CannotMove(thing.question.rstrip(".") or "Scan the label on the thing itself")
    return thing.unit


def not_set_aside(*things: Unit | Lot | Place | None) -> None:
    """Stop what is set aside, and what nobody has received if a recall names it."""
    for thing in things:
        if thing is None:
            continue
        if isinstance(thing, Unit):
            words = freezing.named_by(thing) if thing.place_id is None else ""
            if words and open_hold(thing) is None:
                raise CannotMove(f"{thing}: {words}. Set it aside")
            around = thing.place.way_up() if thing.place else []
            on_it = Q(unit=thing) | Q(lot=thing.lot_id) | Q(place__in=around)
        else:
            on_it = Q(lot=thing) if isinstance(thing, Lot) else Q(place__in=thing.way_up())
        hold = _first(on_it)
        if hold is not None:
            _aside(hold, f"{thing} is set aside: {hold.reason}")


def _first(on_it: Q) -> Hold | None:
    """The hold that stops: a recall's before any other, as no lead lets that through."""
    if not _ANY_OPEN.tuples():
        return None
    holds = Hold.objects.filter(on_it, release=None).select_related("hit", "unit", "lot", "place")
    return holds.order_by(F("hit").asc(nulls_last=True), "pk").first()


def _aside(hold: Hold, words: str) -> None:
    if hasattr(hold, "hit"):
        raise CannotMove(words)
    stop(words)


def nothing_set_aside_in(place: Place) -> None:
    """Stop a parcel, bag or box that holds something that is set aside."""
    inside = within([place])
    lots = Holding.objects.filter(place__in=inside, quantity__gt=0, lot__holds__isnull=False)
    on_it = Q(unit__place__in=inside) | Q(lot__in=lots.values("lot")) | Q(place__in=inside[1:])
    hold = _first(on_it)
    if hold is not None:
        what = hold.unit or hold.lot or hold.place
        _aside(hold, f"{what} in {place.name} is set aside: {hold.reason}. Take it out first")


def no_batch_set_aside(item: Item, lot: Lot | None, place: Place | None) -> None:
    """Stop a quantity whose batch nobody scanned where one of the batches there is set aside."""
    if lot is not None or place is None:
        return
    held = Holding.objects.filter(place=place, lot__item=item, quantity__gt=0)
    hold = _first(Q(lot__in=held.values("lot")))
    if hold is not None:
        another = "Scan the batch you take" if item.tracking == "lot" else "Leave it there"
        _aside(hold, f"{hold.lot} at {place.name} is set aside: {hold.reason}. {another}")


def not_overdue(writes: Writing, unit: Unit) -> None:
    """Stop a unit that has to be charged first; a lead may let it through."""
    words = charging.stopped_by(unit, writes.event.received_at.date())
    if words:
        stop(words)


def claimed_by(place: Place | None, kit: Kit) -> str:
    """Return the subject of another kit in whose parcel, bag or bay this place is, "" for none."""
    around = place.way_up() if place else []
    subject = next((p.subject for p in around if p.subject and not is_own_bag(p)), "")
    return "" if subject == kit.subject else subject


def not_anothers(writes: Writing, place: Place | None, kit: Kit) -> None:
    """Stop what is packed for another kit, and a person's own bag as a whole."""
    _no_own_bag(place)
    subject = claimed_by(place, kit)
    if subject:
        raise CannotMove(foreign(writes.person, subject))


def _no_own_bag(place: Place | None) -> None:
    if place is not None and is_own_bag(place):
        raise CannotMove("This is a person's own bag. Scan what you take of it")


def not_claimed(writes: Writing, place: Place | None, kit: Kit) -> None:
    """Let a person decide where what is to move is packed for another kit: two claims.

    A person's own bag as a whole is stopped.
    """
    _no_own_bag(place)
    subject = claimed_by(place, kit)
    if subject and place is not None:
        told = f"{place.name} was scanned for {kit.code} and is packed for another kit."
        raise Claimed(foreign(writes.person, subject), place, told)


def foreign(person: Person, subject: str) -> str:
    """Say whose it is to who may know, and what to do with it."""
    other = kit_of_subject(subject)
    if other is not None and may_see(person, other.job):
        return f"This belongs to {other.code}. Set it aside for that kit"
    return "This belongs to another job. Set it aside for the warehouse"


def needed(kit: Kit, item: int) -> None:
    """Stop what no line of the kit names where something is said of it and nothing moves."""
    if not kit.lines.filter(item=item).exists():
        raise CannotMove(f"This is not in {kit.code}. Put it back")


def no_barred_mix(kit: Kit, unit: Unit, leaving: Unit | None = None) -> None:
    """Stop a revision that the parts list bars beside those that stand or are packed.

    leaving: the unit whose place it takes; it stands there no more.
    """
    if not unit.revision:
        return
    site = kit.job.site.place
    stands = AsBuilt.objects.filter(site=site, until=None).values("unit")
    here = Q(pk__in=stands) | Q(place=site) | in_its_places(kit, "place__")
    beside = Unit.objects.filter(here, item=unit.item).exclude(pk=unit.pk)
    if leaving is not None:
        beside = beside.exclude(pk=leaving.pk)
    others = set(beside.values_list("revision", flat=True))
    reason = snapshot.barred(kit, unit.revision, others)
    if reason:
        stop(f"{unit} has revision {unit.revision}. {reason.rstrip('.')}")


def may_come_off(writes: Writing, unit: Unit) -> None:
    """Stop what is claimed and not approved from coming off, unless it is for danger."""
    words = claiming.stops_removal(unit)
    if not words:
        return
    if writes.line.kind != DANGER:
        raise CannotMove(f"{words}. For danger it may come off at once: say so, with the reason")
    if not writes.line.reason:
        raise CannotMove("Say what the danger is")


def not_cancelled(kit: Kit) -> None:
    """Stop what somebody decides for a job that is cancelled."""
    if kit.job.cancelled_at is not None:
        raise CannotMove(f"{kit.job.code} is cancelled: nothing of it goes out. Put it back")


def all_signed(kit: Kit) -> None:
    """Stop a kit on its way out that was changed since and leaves something to a person again."""
    if kit.changes.exists():
        unsigned = signing.unsigned(kit)
        if unsigned:
            raise CannotMove(f"{kit.code} was changed. Sign first: {unsigned[0].rstrip('?.')}")


def same_look(writes: Writing) -> bool:
    """Whether a shared code was only seen on, not scanned again: it never left the view."""
    line = writes.line
    if line.rearm:
        return False
    before = Event.objects.filter(
        device=writes.event.device, scan__text=line.text, step=line.step, subject=line.subject
    ).exclude(pk=writes.event.pk)
    times = before.order_by("-number").values_list("device_time", flat=True)[:5]
    return any(abs(line.at - at) <= SAME_LOOK for at in times)


def depot_dock() -> Place | None:
    """Return the dock where kits are packed and returns arrive."""
    return Place.objects.filter(kind=PlaceKind.DOCK).order_by("order", "code").first()

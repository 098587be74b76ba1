"""Many things at once, for one event: the part of the writer of stock that writes by the hundred.

The laws are those of `moving.py`, beside which it stands: each movement leaves one place and enters
another, holdings and units' places change in the same transaction. One statement writes many rows,
so that a file brought in holds the ledger's lock for milliseconds, not for seconds.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import F

from inventory import rows
from inventory.models import (
    Event,
    Finding,
    FindingAnswer,
    Holding,
    Item,
    Kept,
    Lot,
    Movement,
    Place,
    PlaceKind,
    Unit,
)
from inventory.moving import MOVED, CannotMove, Writing, outside

_LOTS = rows.Question(
    lambda: Lot.objects.filter(item__in=rows.Among(Lot, "item"), key__in=rows.Among(Lot, "key"))
)
_UNITS = rows.Question(
    lambda: Unit.objects.filter(serial_key__in=rows.Among(Unit, "serial_key")).select_related(
        "item", "lot", "place"
    )
)
_HOLDINGS = rows.Question(
    lambda: Holding.objects.filter(
        place__in=rows.Among(Holding, "place"), lot__in=rows.Among(Holding, "lot")
    ).values_list("pk", "place", "lot", "quantity")
)
_WAITING = rows.Question(
    lambda: Event.objects.filter(outcomes__verdict="waiting", reversed_by=None).values_list(
        "scan__text"
    )
)
_GONE = rows.Question(
    lambda: Holding.objects.filter(
        place__kind=PlaceKind.UNEXPLAINED, lot__item__in=rows.Among(Lot, "item")
    ).values_list("lot__item", "quantity")
)
_KEPT = rows.Question(
    lambda: Kept.objects.filter(
        place__in=rows.Among(Kept, "place"), item__in=rows.Among(Kept, "item")
    ).values_list("place", "item")
)
_ASKED = rows.Question(
    lambda: Finding.objects.filter(
        place__in=rows.Among(Finding, "place"),
        item__in=rows.Among(Finding, "item"),
        kind=Finding.Kind.COUNT,
        answer=None,
    )
)
_HELD = ("place_id", "lot_id", "quantity", "outside")


@dataclass(frozen=True, slots=True)
class Arrival:
    """A unit that stands somewhere, entered by its serial."""

    item: Item
    serial: str
    key: str
    to: Place
    revision: str = ""
    made_on: date | None = None
    last_charged: date | None = None
    batch: str = ""  # as printed
    batch_key: str = ""  # its normal form


@dataclass(frozen=True, slots=True)
class Counted:
    """How many base units of a lot lie at a place."""

    lot: Lot
    at: Place
    quantity: int


def lots(wanted: Iterable[tuple[Item, str, str, date | None]]) -> dict[tuple[int, str], Lot]:
    """Return (item, key) -> lot, new ones made. wanted: item, number, key, use-by day."""
    asked = {(item.pk, key): (item, number, day) for item, number, key, day in wanted}
    there = _LOTS.ask(item={item for item, _ in asked}, key={key for _, key in asked})
    found = {(lot.item_id, lot.key): lot for lot in there}
    fresh = [
        Lot(item=item, number=number, key=key[1], expires_on=day)
        for key, (item, number, day) in asked.items()
        if key not in found
    ]
    for lot in Lot.objects.bulk_create(fresh):
        found[lot.item_id, lot.key] = lot
    for key, (item, _, _) in asked.items():
        found[key].item = item  # that is known: not read with each lot
    return found


def stand(writes: Writing, arrivals: Sequence[Arrival]) -> list[Unit]:
    """Let units stand where they were found; they come from elsewhere, evidence *listed*.

    Raises CannotMove for a unit that stands with us already. Returns the units, in order.
    """
    start = outside(PlaceKind.ELSEWHERE)
    of = lots((one.item, one.batch, one.batch_key, None) for one in arrivals)
    known = _known(arrivals)
    units, fresh = [], []
    for one in arrivals:
        unit = known.get((one.item.pk, one.key))
        if unit is None:
            lot = of[one.item.pk, one.batch_key]
            unit = Unit(item=one.item, lot=lot, serial=one.serial, serial_key=one.key, place=one.to)
            unit.made_on, unit.last_charged = one.made_on, one.last_charged
            unit.revision = one.revision
            fresh.append(unit)
        else:
            _stand_again(unit, one.to)
        units.append(unit)
    rows.add_many(fresh)
    _move(
        writes,
        [(unit, unit.lot, start, one.to, 1) for unit, one in zip(units, arrivals, strict=True)],
    )
    writes.first += _waited_for(fresh)
    writes.learned += units
    return units


def _known(arrivals: Sequence[Arrival]) -> dict[tuple[int, str], Unit]:
    there = _UNITS.ask(serial_key={one.key for one in arrivals})  # of other items too: few
    return {(unit.item_id, unit.serial_key): unit for unit in there}


def _stand_again(unit: Unit, to: Place) -> None:
    """One that was taken back before, or that stands nowhere yet: compare and set."""
    if unit.place is not None and unit.place.kind != PlaceKind.ELSEWHERE:
        raise CannotMove(f"{unit} stands at {unit.place} by now")
    if not Unit.objects.filter(pk=unit.pk, place=unit.place).update(place=to):
        raise CannotMove(f"{unit} was moved by somebody else just now")
    unit.place = to


def _waited_for(units: Sequence[Unit]) -> list[Unit]:
    """Those whose serial stands in a scan that waits: intake judges it again.

    Asked once for all of them; few scans ever wait.
    """
    texts = [text for (text,) in _WAITING.tuples() if text]
    return [unit for unit in units if any(unit.serial in text for text in texts)]


def settle(writes: Writing, counts: Sequence[Counted]) -> None:
    """Set the book to what was counted, as a count does: see `counting.py` and `Writing.found`.

    From this event on the items are kept there; counts that were asked for are answered.
    """
    held = _HOLDINGS.tuples(place={one.at.pk for one in counts}, lot={one.lot.pk for one in counts})
    book = {(place, lot): quantity for _, place, lot, quantity in held}
    missing = _missing({one.lot.item_id for one in counts})
    unexplained, elsewhere = outside(PlaceKind.UNEXPLAINED), outside(PlaceKind.ELSEWHERE)
    moves: list[tuple[Unit | None, Lot, Place, Place, int]] = []
    for one in counts:
        lot, more = one.lot, one.quantity - book.get((one.at.pk, one.lot.pk), 0)
        back = min(max(missing[lot.item_id], 0), max(more, 0))
        missing[lot.item_id] -= back if more > 0 else more
        for start, to, part in (
            (unexplained, one.at, back),
            (elsewhere, one.at, more - back),
            (one.at, unexplained, -more),
        ):
            if part > 0:
                moves.append((None, lot, start, to, part))
    _move(writes, moves)
    _keep(writes, counts)
    writes.learned += {one.lot.pk: one.lot for one in counts}.values()


def put_back(writes: Writing, done: Event) -> None:
    """Move back all that `done` moved. Raises CannotMove if something of it moved on since."""
    things = ("unit__item", "lot__item", "to_place", "from_place")
    # Last first: an arrival that paid back a debt has to get that part back before it leaves.
    moved = list(done.movements.select_related(*things).order_by("-pk"))
    stood = {one.unit.pk: one.unit.place_id for one in moved if one.unit}
    stands, held = dict(stood), _held(moved)
    for one in moved:
        start = (one.to_place_id, one.lot_id)
        if one.unit is not None:
            if stands[one.unit.pk] != one.to_place_id:
                raise CannotMove(f"{one.unit} has moved on since")
            stands[one.unit.pk] = one.from_place_id
        elif not one.to_place.outside and held[start] < one.quantity:
            asked = f"{one.quantity} asked for at {one.to_place}"
            raise CannotMove(f"{one.lot}: {asked}, the book has {held[start]}")
        held[start] -= one.quantity
        held[one.from_place_id, one.lot_id] += one.quantity
    ways = defaultdict[tuple[int | None, int | None], list[int]](list)
    for unit, now in stood.items():
        ways[now, stands[unit]].append(unit)
    for (now, to), units in ways.items():
        if Unit.objects.filter(pk__in=units, place=now).update(place=to) != len(units):
            raise CannotMove("Something was moved by somebody else just now")
    _move(
        writes, [(one.unit, one.lot, one.to_place, one.from_place, one.quantity) for one in moved]
    )


def _held(moved: Sequence[Movement]) -> dict[tuple[int, int], int]:
    """Return (place, lot) -> base units that the book has there, of all places of movements."""
    places = {place for one in moved for place in (one.from_place_id, one.to_place_id)}
    found = defaultdict[tuple[int, int], int](int)
    there = _HOLDINGS.tuples(place=places, lot={one.lot_id for one in moved})
    for _, place, lot, quantity in there:
        found[place, lot] = quantity
    return found


def _missing(items: set[int]) -> dict[int, int]:
    """Item -> what went missing without a reason, in base units; below zero: taken unbooked."""
    found: dict[int, int] = defaultdict(int)
    for item, quantity in _GONE.tuples(item=items):
        found[item] += quantity
    return found


def _keep(writes: Writing, counts: Sequence[Counted]) -> None:
    pairs = {(one.at.pk, one.lot.item_id) for one in counts}
    among = {"place": {place for place, _ in pairs}, "item": {item for _, item in pairs}}
    fresh = sorted(pairs - {(place, item) for place, item in _KEPT.tuples(**among)})
    event = writes.event.pk
    rows.add_all(
        Kept, ("place_id", "item_id", "event_id"), [(place, item, event) for place, item in fresh]
    )
    asked = _ASKED.ask(**among)
    FindingAnswer.objects.bulk_create(
        FindingAnswer(event=writes.event, finding=finding, words="Counted, by a file brought in.")
        for finding in asked
        if (finding.place_id, finding.item_id) in pairs
    )


def unkeep(begun: Sequence[Kept], later: Sequence[Event | None]) -> None:
    """Counts that began the keeping were undone; later: what begins it instead, None: nothing."""
    Kept.objects.filter(pk__in=[one.pk for one in begun]).delete()
    Kept.objects.bulk_create(
        Kept(place_id=one.place_id, item_id=one.item_id, event=event)
        for one, event in zip(begun, later, strict=True)
        if event is not None
    )


def _move(writes: Writing, moves: Sequence[tuple[Unit | None, Lot, Place, Place, int]]) -> None:
    event = writes.event.pk
    moved = [
        (unit.pk if unit else None, lot.pk, start.pk, to.pk, quantity)
        for unit, lot, start, to, quantity in moves
    ]
    rows.add_all(Movement, MOVED, [(event, *one) for one in moved])
    changed: dict[tuple[int, int], int] = defaultdict(int)
    for _, batch, left, entered, quantity in moved:
        changed[left, batch] -= quantity
        changed[entered, batch] += quantity
    outer = {place.pk: place.outside for _, _, *ends, _ in moves for place in ends}
    held = _HOLDINGS.tuples(place=outer, lot={lot for _, lot in changed})
    there = {(place, lot): pk for pk, place, lot, _ in held}
    fresh, changes = list[tuple[int, int, int, bool]](), defaultdict[int, list[int]](list)
    for (place, batch), change in changed.items():
        known = there.get((place, batch))
        if known is None:
            fresh.append((place, batch, change, outer[place]))
        elif change:
            changes[change].append(known)
    rows.add_all(Holding, _HELD, fresh)
    for change, known_ones in changes.items():
        Holding.objects.filter(pk__in=known_ones).update(quantity=F("quantity") + change)

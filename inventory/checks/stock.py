"""Checks of what stands where: the side tables against what the movements amount to."""

from dataclasses import dataclass, field
from functools import cache

from inventory import counts
from inventory.checks.report import Check, Report
from inventory.ledger.book import Book, Carry, Move
from inventory.models import (
    ContainerMove,
    Device,
    Event,
    Holding,
    Kept,
    Movement,
    Place,
    Unit,
)
from inventory.models.places import DEPTH, OUTSIDE
from inventory.models.places import moves as may_move

AT_ONCE = 2000  # rows fetched at a time


@dataclass(slots=True)
class Folded:
    """All movements and container moves, folded in the order in which they were written."""

    book: Book[int]  # keys are row ids
    movements: Report = field(default_factory=Report)
    carries: Report = field(default_factory=Report)


def fold() -> Folded:
    """Return what the ledger amounts to. Rows are written under the lock: their ids are in order.

    An event that waited moves things later than its own number says.
    """
    outer = frozenset(Place.objects.filter(kind__in=OUTSIDE).values_list("pk", flat=True))
    folded = Folded(Book(outside=outer.__contains__))
    rows = Movement.objects.order_by("pk").values_list(
        "pk", "lot", "from_place", "to_place", "quantity", "unit", "unit__lot"
    )
    for pk, lot, start, to, quantity, unit, unit_lot in rows.iterator(chunk_size=AT_ONCE):
        folded.movements.read += 1
        wrong = folded.book.move(Move(lot, start, to, quantity, unit))
        if unit is not None and unit_lot != lot:
            wrong.append(f"unit {unit} is of lot {unit_lot}, moved as {lot}")
        folded.movements.problems += [f"movement {pk}: {words}" for words in wrong]
    moves = ContainerMove.objects.order_by("pk").values_list(
        "pk", "place", "from_parent", "to_parent", "place__kind", "place__subject"
    )
    for pk, box, start, to, kind, subject in moves.iterator(chunk_size=AT_ONCE):
        folded.carries.read += 1
        wrong = folded.book.carry(Carry(box, start, to))
        if not may_move(kind, subject):
            wrong.append(f"place {box} is a {kind} and moved")
        folded.carries.problems += [f"container move {pk}: {words}" for words in wrong]
    return folded


def movements(folded: Folded) -> Report:
    """Each movement leaves where its thing stood, enters another place, and leaves no debt."""
    return folded.movements


def containers(folded: Folded) -> Report:
    """Each container move begins where the one before ended; what moved stands where it went."""
    report = folded.carries
    for box, parent in Place.objects.order_by().values_list("pk", "parent"):
        to = folded.book.parents.get(box, parent)
        report.expect(parent == to, f"box {box} stands in {parent}, it was moved to {to}")
    return report


def tree_of_places() -> Report:
    """No place stands in itself, and none stands deeper than the laws allow."""
    parents = dict(Place.objects.order_by().values_list("pk", "parent"))
    report = Report(read=len(parents))
    for place, parent in parents.items():
        here, depth = parent, 1
        while here is not None and depth <= DEPTH:
            here, depth = parents[here], depth + 1
        report.expect(depth <= DEPTH, f"place {place} stands too deep, or in itself")
    return report


def holdings(folded: Folded) -> Report:
    """Holdings are the sums of the movements; all of a lot sum to zero; ours are not below it."""
    book = folded.book
    report = Report(problems=book.faults())
    wanted = book.stock()
    outer = set(Place.objects.filter(kind__in=OUTSIDE).values_list("pk", flat=True))
    rows = Holding.objects.values_list("place", "lot", "quantity", "outside")
    for place, lot, quantity, outside in rows.iterator(chunk_size=AT_ONCE):
        report.read += 1
        due = wanted.pop((place, lot), 0)
        report.expect(quantity == due, f"lot {lot} at {place}: {quantity}, movements say {due}")
        report.expect(outside == (place in outer), f"lot {lot} at {place}: wrongly ours or not")
    for (place, lot), due in wanted.items():
        report.problems.append(f"lot {lot} at {place}: no holding, movements say {due}")
    return report


def units(folded: Folded) -> Report:
    """Each unit stands where its last movement took it, in the holding of its lot there."""
    report = Report()
    book = folded.book
    inner: dict[tuple[int, int], int] = {}
    rows = Unit.objects.values_list("pk", "place", "lot", "item", "lot__item")
    for pk, place, lot, item, lot_item in rows.iterator(chunk_size=AT_ONCE):
        report.read += 1
        due = book.units.get(pk)
        report.expect(place == due, f"unit {pk} stands at {place}, its movements say {due}")
        report.expect(item == lot_item, f"unit {pk} and its lot are of two items")
        if due is not None and not book.outside(due):
            inner[due, lot] = inner.get((due, lot), 0) + 1
    for (place, lot), count in inner.items():
        there = book.holdings[place, lot]
        report.expect(there == count, f"lot {lot} at {place}: {there}, but {count} units stand")
    return report


def kept() -> Report:
    """An item is kept at a place exactly from its first count there that stands."""
    wanted: dict[tuple[str, int], int] = {}
    for event, place, item in counts.standing():
        wanted.setdefault((place, item), event.pk)
    report = Report()
    for row in Kept.objects.select_related("place"):
        report.read += 1
        first = wanted.pop((row.place.code, row.item_id), None)
        report.expect(first == row.event_id, f"{row}: since another event than its first count")
    report.problems += [f"item {item} was counted at {code}, not kept" for code, item in wanted]
    return report


def checks() -> tuple[Check, ...]:
    """Return the checks of one run: the movements are folded once for all of them."""
    folded = cache(fold)
    return (
        Check("movements follow one another", Movement, lambda: movements(folded())),
        Check("containers stand where they went", ContainerMove, lambda: containers(folded())),
        Check("the tree of places", Place, tree_of_places),
        Check("holdings are the sums", Holding, lambda: holdings(folded())),
        Check("units stand where they went", Unit, lambda: units(folded())),
        Check("kept from the first count", Kept, kept),
    )


def gathered() -> tuple[dict[int, list[int]], list[int]]:
    """Return device id -> numbers of its events, and all device ids."""
    seqs: dict[int, list[int]] = {}
    for device, seq in Event.objects.values_list("device", "seq").iterator(chunk_size=AT_ONCE):
        seqs.setdefault(device, []).append(seq)
    return seqs, list(Device.objects.values_list("pk", flat=True))

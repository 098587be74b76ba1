"""Which pieces of cable a kit has: each movement of a length into its places is one piece.

A sum does not tell: of 8 m wanted as 4 and twice 2, the 4 m that are packed may be either.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace

from django.db.models import Q

from inventory.models import Holding, Item, Movement, PlaceKind
from kitting.models import Kit, KitLine
from kitting.plan import cutting
from kitting.plan.cutting import KEPT, Stick

OVER = "take_over"  # step by which another kit takes out of this one
AWAY = ("put_back", OVER)  # steps by which a piece is this kit's no more
LOST = ("missing", "request")  # steps by which somebody tells that it is not there
GONE = (*AWAY, *LOST, "use", "bring_back")  # steps by which it is no longer with the crew


@dataclass(frozen=True, slots=True)
class Piece:
    """One piece in one length."""

    mm: int
    lot: int  # id of the reel or piece it was cut from
    step: str = ""  # whose bag it went into; "": no bag


@dataclass(frozen=True, slots=True)
class _Move:
    """One movement into the kit or out of it."""

    piece: Piece
    item: int
    left_by: str = ""  # step by which it leaves; "": it enters


def of(kit: Kit, items: Iterable[Item], without: Collection[str] = AWAY) -> dict[int, list[Piece]]:
    """Return item id -> the pieces taken for a kit, wherever they are now, in the order of coming.

    without: steps by which a piece counts no more.
    """
    found: dict[int, list[Piece]] = defaultdict(list)
    lost: list[tuple[int, int]] = []  # item and mm of what is missing and counts all the same
    for move in _moves(kit, [item.pk for item in items]):
        same = (move.item, move.piece.mm)
        if move.left_by in without:
            found[move.item] = _without(found[move.item], move.piece)
        elif move.left_by in LOST:
            lost.append(same)
        elif not move.left_by and same in lost:
            lost.remove(same)  # it is found, and was never taken off
        elif not move.left_by:
            found[move.item].append(move.piece)
    return found


def at_hand(kit: Kit, stock: Sequence[Holding]) -> list[tuple[Holding, int]]:
    """Return what lies in these places as (where, base units): cable in the pieces that it is, as
    far as they add up to what lies there; all else as one."""
    items = {h.lot.item_id: h.lot.item for h in stock if h.lot.item.unit == "mm"}
    known = of(kit, items.values(), GONE) if items else {}
    left = [piece for pieces in known.values() for piece in pieces]
    found = []
    for holding in stock:
        mine = [piece for piece in left if piece.lot == holding.lot_id]
        same = mine if sum(piece.mm for piece in mine) == holding.quantity else []
        same = same or [piece for piece in mine if piece.mm == holding.quantity][:1]
        for piece in same:
            left.remove(piece)
        found += [(holding, piece.mm) for piece in same] or [(holding, holding.quantity)]
    return found


def _moves(kit: Kit, items: Sequence[int]) -> Iterable[_Move]:
    names = ("subject", "parent__subject")
    leaves = Q(**{f"from_place__{names[0]}": kit.subject})
    leaves |= Q(**{f"from_place__{names[1]}": kit.subject})
    rows = Movement.objects.filter(lot__item__in=items, event__reversed_by=None)
    rows = rows.filter(event__reversal=None)  # an undo names the kit too: it takes nothing anew
    rows = rows.filter(Q(event__subject=kit.subject) | Q(leaves, event__step=OVER))
    site = kit.job.site.place_id
    ends = [f"{end}_place__{name}" for end in ("from", "to") for name in ("", *names)]
    fields = [name.removesuffix("__") for name in ends]
    told = ("event__step", "lot__item", "lot", "quantity", "to_place__package__step")
    kinds = rows.exclude(from_place__kind=PlaceKind.SUPPLIER).order_by("pk")
    for row in kinds.values_list(*fields, *told):
        step, item, lot, mm, bag = row[6:]
        from_us = row[0] == site or kit.subject in row[1:3]
        to_us = row[3] == site or kit.subject in row[4:6]
        piece = Piece(mm, lot, bag or "")
        if to_us and not from_us:
            yield _Move(piece, item)
        elif from_us and not to_us:
            yield _Move(piece, item, step)


def _without(pieces: list[Piece], gone: Piece) -> list[Piece]:
    """The pieces without one; where none is of that length, a longer one was cut for it."""
    able = [piece for piece in pieces if piece.lot == gone.lot and piece.mm >= gone.mm]
    if not able:
        return _less(pieces, gone.mm)
    best = min(able, key=lambda piece: piece.mm)
    left = list(pieces)
    at = left.index(best)
    rest = [replace(best, mm=best.mm - gone.mm)] if best.mm > gone.mm else []
    return [*left[:at], *rest, *left[at + 1 :]]


def _less(pieces: list[Piece], gone: int) -> list[Piece]:
    """Several went at once: the shortest first, so that none is thought longer than it is sure."""
    left = []
    for piece in sorted(pieces, key=lambda one: one.mm):
        cut = min(piece.mm, gone)
        gone -= cut
        if piece.mm > cut:
            left.append(replace(piece, mm=piece.mm - cut))
    return left


def uncut(lines: Sequence[KitLine], packed: Sequence[Piece]) -> dict[int, tuple[int, ...]]:
    """Return line id -> mm of each of its pieces that none of the packed ones holds, in order.

    lines: all of one item.
    """
    left: dict[int, list[int]] = {line.pk: [] for line in lines}
    for line, mm in _shared(lines, packed)[0]:
        left[line.pk].append(mm)
    return {line: tuple(pieces) for line, pieces in left.items()}


def unused(lines: Sequence[KitLine], packed: Sequence[Piece]) -> list[Piece]:
    """Return the packed pieces that hold nothing these lines want. lines: all of one item."""
    return _shared(lines, packed)[1]


def _shared(
    lines: Sequence[KitLine], packed: Sequence[Piece]
) -> tuple[list[tuple[KitLine, int]], list[Piece]]:
    """What is wanted and not packed, in order; what is packed and not wanted.

    A piece of the very length counts first, in the bag of the line's own step before another; then
    a longer one.
    """
    wanted = [(line, mm) for line in lines for mm in line.whole]
    held, met = list(packed), set()
    for same_bag in (True, False):
        for number, (line, mm) in enumerate(wanted):
            fits = [p for p in held if p.mm == mm and (not same_bag or p.step == line.step)]
            if fits and number not in met:
                held.remove(fits[0])
                met.add(number)
    open_ones = [one for number, one in enumerate(wanted) if number not in met]
    sticks = [Stick(piece.mm, KEPT) for piece in held]
    plan = cutting.plan([mm for _, mm in open_ones], sticks, most=1).of
    unmet = [one for one, at in zip(open_ones, plan, strict=True) if at is None]
    return unmet, [piece for at, piece in enumerate(held) if at not in plan]

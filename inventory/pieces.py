"""Reels, opened packs and remnants: each is a batch of its own with our label, cut from another."""

from __future__ import annotations

from datetime import date, timedelta

from django.db.models import QuerySet

from inventory import newcomers
from inventory.codes import own
from inventory.intake import Act, Verdict
from inventory.ledger.steps import Standing
from inventory.models import Finding, Holding, Item, Lot, Place, PlaceKind, Role, Tracking
from inventory.moving import CannotMove, Writing, nameless, outside
from inventory.queries import held, place_of_code, standing, stock_at
from inventory.scanning import LOT_LABEL, UP
from inventory.words import amount

AT_ONCE = 20  # labels fetched at a time: the first is mostly the one
KINDS = {"reel": "a reel", "opened": "an opened pack", "remnant": "a piece kept"}


def make_piece(writes: Writing) -> Verdict:
    """Give a part of what lies at the target place a label of its own; kind is one of KINDS.

    text: the batch, reel or item it is of. quantity: base units, else one pack. number, of a
    reel: the metre mark printed at its far end.
    """
    kind, item = writes.line.kind, writes.thing.item
    place = place_of_code(writes.line.target)
    if kind not in KINDS:
        raise CannotMove("Say what it is: a reel, an opened pack or a piece kept")
    if place is None or place.outside:
        raise CannotMove("Scan the place where it lies")
    _fits(kind, item)
    assert item is not None, "what fits has an item"
    quantity = writes.line.quantity or (writes.thing.pack if kind == "opened" else 0)
    if not quantity:
        raise CannotMove("Say how long it is")
    parent = writes.thing.lot or _first(place, item)
    differs = ""
    if held(place, parent) < quantity:
        differs = _as_the_hand_found(writes, parent, place, quantity)
    piece = cut_off(writes, parent, place, place, quantity, kind)
    recalled, named = newcomers.met(writes, [piece])
    until = f", use by {piece.expires_on:%-d %b %Y}" if piece.expires_on else ""
    said = f"{amount(quantity, item)} is now {KINDS[kind]} {piece.number}{until}. Print its label."
    said = " ".join(words for words in (said, named, differs) if words)
    return Verdict("problem" if differs or recalled else "applied", said)


def cut_off(
    writes: Writing, parent: Lot, start: Place, to: Place, quantity: int, kind: str = "remnant"
) -> Lot:
    """Give so much of a batch at one place a label of its own, at another or there; return it.

    Raises CannotMove where the book has less.
    """
    piece, cut = _enter(writes, parent, kind), outside(PlaceKind.CUT)
    writes.lot(parent, start, cut, quantity)
    writes.lot(piece, cut, to, quantity)
    return piece


def shelve(writes: Writing, lot: Lot, start: Place, to: Place, quantity: int) -> Lot:
    """Put a length that was cut, one piece, at a place of ours: it is a piece kept from then on.

    Booked onto its reel, two pieces would be read as one. What is all that its label stands for
    keeps that label. Returns the batch it is now.
    """
    elsewhere = Holding.objects.filter(lot=lot, quantity__gt=0, outside=False).exclude(place=start)
    whole = held(start, lot) == quantity and not elsewhere.exists()
    if lot.parent_id is not None and whole:
        writes.lot(lot, start, to, quantity)
        return lot
    piece = cut_off(writes, lot, start, to, quantity)
    newcomers.met(writes, [piece])
    return piece


def _as_the_hand_found(writes: Writing, parent: Lot, place: Place, quantity: int) -> str:
    """The hand wins: it lies there, whatever the book had. Books it there, opens a problem and
    returns its words.

    A labelled piece is one thing: it comes whole from where the book had it. Of a batch only what
    was cut comes from another shelf, for the rest may well lie there. What no shelf had is
    `unexplained`.
    """
    there = held(place, parent)
    others = _on_other_shelves(writes, parent, place)
    for holding in others:
        part = holding.quantity
        if parent.parent_id is None:
            part = min(part, quantity - there)
        if part > 0:
            writes.lot(parent, holding.place, place, part)
            there += part
    if there < quantity:
        writes.lot(parent, outside(PlaceKind.UNEXPLAINED), place, quantity - there)
    if others:
        named = " and ".join(holding.place.name for holding in others)
        words = f"{_name(parent)} was at {place.name}, the book said {named}."
        writes.finding(Finding.Kind.SURPLUS, words, item=parent.item, place=place)
    if there < quantity:
        had = amount(there, parent.item) if there else f"no {parent.item.name}"
        words = f"The book had {had} at {place.name}, the hand cut {amount(quantity, parent.item)}."
        writes.finding(Finding.Kind.COUNT, words, item=parent.item, place=place)
    return " ".join(finding.words for finding in writes.event.findings.order_by("pk"))


def _on_other_shelves(writes: Writing, parent: Lot, place: Place) -> list[Holding]:
    """Where else the book has what was scanned by a label of its own; a bare item may be any."""
    if writes.thing.lot is None:
        return []
    found = Holding.objects.filter(lot=parent, quantity__gt=0, outside=False).exclude(place=place)
    rows = list(found.select_related("lot__item", f"place__{UP}").order_by("pk"))
    if parent.parent_id is not None:
        return rows
    return [row for row in rows if standing(row.place) is Standing.SHELF]


def _name(lot: Lot) -> str:
    return f"{lot.item.name} {lot.number}" if lot.number else lot.item.name


def _fits(kind: str, item: Item | None) -> None:
    if item is None:
        raise CannotMove("Scan the code of what it is")
    length = item.tracking == Tracking.LENGTH or item.unit == "mm"
    if kind in ("reel", "remnant") and not length:
        raise CannotMove(f"{item.name} is not cut from a reel")
    if kind == "opened" and item.tracking not in (Tracking.LOT, Tracking.COUNT):
        raise CannotMove(f"{item.name} does not come in packs that are opened")


def _first(place: Place, item: Item) -> Lot:
    """Return the batch that is taken first there; an opened pack is no pack to open."""
    found = [row.lot for row in stock_at(place, item) if row.lot.parent_id is None]
    return found[0] if found else nameless(item)


def _enter(writes: Writing, parent: Lot, kind: str) -> Lot:
    today = writes.event.received_at.date()
    number = next_label()
    opened = kind == "opened"
    mark = writes.line.number if kind == "reel" else None
    return Lot.objects.create(
        item=parent.item,
        number=number,
        key=number,
        parent=parent,
        opened_on=today if opened else None,
        expires_on=_until(parent, today) if opened else parent.expires_on,
        end_mark_m=mark,
    )


def _until(parent: Lot, today: date) -> date | None:
    """Return when an opened pack ends: its batch's day or its days once opened, what is first."""
    days = parent.item.opened_days
    ends = [parent.expires_on, today + timedelta(days=days) if days is not None else None]
    return min((end for end in ends if end is not None), default=None)


def next_label() -> str:
    """Return the label code after the highest of a batch of ours; hold the ledger's lock."""
    taken = Lot.objects.filter(key__startswith=LOT_LABEL).order_by("-key")
    return own.make_next("lot", taken.values_list("key", flat=True).iterator(AT_ONCE))


def put(writes: Writing, piece: Lot, to: Place) -> Verdict:
    """Put a piece, whole, at another place."""
    where = list(Holding.objects.filter(lot=piece, outside=False, quantity__gt=0))
    if len(where) != 1:
        raise CannotMove(f"The book does not know where {piece.number} lies. Count it there")
    if where[0].place_id == to.pk:
        return Verdict("noted", f"{piece.item.name} {piece.number} is there already.")
    writes.lot(piece, where[0].place, to, where[0].quantity)
    return Verdict("applied", f"{piece.item.name} {piece.number} is now at {to.name}.")


def left_on_reel(reel: Lot | None, mark_m: int) -> int:
    """Return what a reel holds, in mm, by the metre mark at its open end. Raises CannotMove."""
    if reel is None or reel.end_mark_m is None:
        raise CannotMove("Scan the label of a reel whose far mark is known")
    return abs(mark_m - reel.end_mark_m) * 1000


def open_pieces() -> QuerySet[Holding]:
    """Reels, opened packs and remnants that lie somewhere of ours, what ends first first."""
    found = Holding.objects.filter(lot__parent__isnull=False, outside=False, quantity__gt=0)
    whole = found.select_related("lot__item", "lot__parent", f"place__{UP}")
    return whole.order_by("lot__expires_on", "lot__key")


MAKE_PIECE = Act("make_piece", frozenset({Role.WAREHOUSE, Role.MANAGER}), make_piece)

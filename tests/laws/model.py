"""The lower house's laws in memory: what the intake must decide, worked out a second time.

Built on the pure ledger (lines, steps, sequence, book, record mark) and nothing else. The pure
state machine tries the laws on it; the other one drives the real intake and compares.
"""

from __future__ import annotations

import copy
from dataclasses import dataclass, field

from inventory.ledger import tree
from inventory.ledger.book import Book, Move
from inventory.ledger.line import Line, LineError, parse
from inventory.ledger.sequence import missing
from inventory.ledger.steps import Ruling, Standing, ruling

SUPPLIER, UNEXPLAINED, ELSEWHERE = "SUPPLIER", "UNEXPLAINED", "ELSEWHERE"
OUTER = {SUPPLIER, UNEXPLAINED, ELSEWHERE}
SHELVES = ("DOCK", "BIN1", "BIN2", "BIN3")
PLACES = (*SHELVES, "VAN1")
BRACKETS = "09521234000020"
PACK = 4  # brackets that one scan of their code stands for


class Stopped(Exception):
    """Nothing moves."""


@dataclass
class Known:
    """An event that was stored."""

    sha256: str
    verdict: str
    moves: list[Move[str]]
    undone: bool = False
    undo: bool = False


@dataclass
class Model:
    """Everything the ledger holds, as plain values."""

    book: Book[str] = field(default_factory=lambda: Book(outside=OUTER.__contains__))
    events: dict[str, Known] = field(default_factory=dict)
    seqs: dict[str, list[int]] = field(default_factory=dict)
    size: int = 0
    peaks: list[bytes] = field(default_factory=list)

    def take(self, raw: str) -> tuple[str, bool]:
        """Judge a line: its verdict, and whether it came before."""
        try:
            line = parse(raw)
        except LineError:
            return "refused", False
        known = self.events.get(str(line.id))
        if known is not None:
            same = known.sha256 == line.sha256
            return (known.verdict, True) if same else ("refused", False)
        if line.step not in ("receive", "put", "count", "undo"):
            return "refused", False
        self.seqs.setdefault(str(line.device), []).append(line.seq)
        self.size, self.peaks = tree.grow(self.size, self.peaks, [tree.leaf(raw.encode())])
        before = copy.deepcopy(self.book)
        moves: list[Move[str]] = []
        try:
            verdict = self._act(line, moves)
        except Stopped:
            self.book, moves, verdict = before, [], "stopped"
        undo = line.step == "undo" and verdict == "applied"
        self.events[str(line.id)] = Known(line.sha256, verdict, moves, undo=undo)
        return verdict, False

    def gaps(self, device: str) -> list[tuple[int, int]]:
        """Numbers of a device that never came."""
        return missing(self.seqs.get(device, []))

    def _act(self, line: Line, moves: list[Move[str]]) -> str:
        if line.step == "undo":
            return self._undo(line, moves)
        if line.target not in PLACES:
            return "stopped"
        if line.text == BRACKETS:
            return self._brackets(line, moves)
        return self._unit(line, moves)

    def _unit(self, line: Line, moves: list[Move[str]]) -> str:
        serial, to = line.text.rpartition("21")[2], line.target
        stood = self.book.units.get(serial)
        if line.step == "count":
            return "stopped"
        if line.step == "put" and stood == to:
            return "noted"
        ruled = ruling(line.step, standing(stood))
        if ruled is Ruling.LATE:
            return "noted"
        if ruled is Ruling.DISPUTE:
            return "dispute"
        came_from = SUPPLIER if line.step == "receive" else UNEXPLAINED
        self._move(moves, "MOD", stood or came_from, to, 1, serial)
        return "problem" if ruled is Ruling.FINDING else "applied"

    def _brackets(self, line: Line, moves: list[Move[str]]) -> str:
        to, owed = line.target, self.book.holdings[UNEXPLAINED, "BRA"]
        if line.step == "receive":
            quantity = line.quantity or PACK
            self._move(moves, "BRA", SUPPLIER, to, quantity)
            if owed < 0:
                self._move(moves, "BRA", to, UNEXPLAINED, min(-owed, quantity))
            return "applied"
        if line.step == "put":
            if line.start not in PLACES or line.start == to:
                return "stopped"
            quantity = line.quantity or PACK
            there = min(self.book.holdings[line.start, "BRA"], quantity)
            self._move(moves, "BRA", line.start, to, there)
            self._move(moves, "BRA", UNEXPLAINED, to, quantity - there)
            return "problem" if quantity > there else "applied"
        if line.quantity is None:
            return "stopped"
        more = line.quantity - self.book.holdings[to, "BRA"]
        if more < 0:
            self._move(moves, "BRA", to, UNEXPLAINED, -more)
        back = min(max(owed, 0), max(more, 0))
        self._move(moves, "BRA", UNEXPLAINED, to, back)
        self._move(moves, "BRA", ELSEWHERE, to, max(more, 0) - back)
        return "applied"

    def _undo(self, line: Line, moves: list[Move[str]]) -> str:
        done = self.events.get(str(line.reverses))
        if done is None or done.undo:
            return "stopped"
        if done.undone:
            return "noted"
        if done.verdict == "stopped":
            return "stopped"  # nothing was done
        for move in reversed(done.moves):
            if move.unit is not None and self.book.units[move.unit] != move.to:
                raise Stopped
            short = self.book.holdings[move.to, move.lot] < move.quantity
            if move.unit is None and short and move.to not in OUTER:
                raise Stopped
            self._move(moves, move.lot, move.to, move.start, move.quantity, move.unit)
        done.undone = True
        return "applied"

    def _move(
        self,
        moves: list[Move[str]],
        lot: str,
        start: str,
        to: str,
        quantity: int,
        unit: str | None = None,
    ) -> None:
        if quantity:
            moves.append(Move(lot, start, to, quantity, unit))
            wrong = self.book.move(moves[-1])
            assert wrong == []


def standing(place: str | None) -> Standing:
    """Where a unit stands that no kit wants."""
    if place is None:
        return Standing.NOWHERE
    if place == SUPPLIER:
        return Standing.OUTSIDE
    if place in OUTER:
        return Standing.GONE
    return Standing.VAN if place == "VAN1" else Standing.SHELF

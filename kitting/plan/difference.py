"""What changes from one kit to another: what to pick more, what goes back, step by step, item by
item.

Two kits of one job are compared as they are listed. An expansion is not worked out like this: it
goes need by need from what stands (`expansion.py`). A length is whole pieces here too: a cut of
4.2 m does not serve where 6 m are wanted.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from kitting.plan.kit import Kit
from kitting.plan.lines import Line, Reason

Key = tuple[str, str]
"""Item and step."""


@dataclass(frozen=True, slots=True)
class Net:
    """One item over all steps: what a shelf or a van sees of the change."""

    item: str
    name: str
    unit: str
    """piece, mm, ul or mm2"""
    quantity: int
    """Base units, at least 1."""
    pieces: tuple[int, ...] = ()
    """mm of each single piece of a length."""

    def as_json(self) -> dict[str, object]:
        """The item and its quantity as data."""
        return {
            "item": self.item,
            "name": self.name,
            "unit": self.unit,
            "quantity": self.quantity,
            "pieces": list(self.pieces),
        }


@dataclass(frozen=True, slots=True)
class Difference:
    """The change from one list to another; false where nothing changes."""

    more: tuple[Line, ...]
    """What the new list wants beyond the old one, in the new list's order."""
    less: tuple[Line, ...]
    """What the old list had beyond the new one, in the old list's order."""

    def __bool__(self) -> bool:
        return bool(self.more or self.less)

    def to_pick(self) -> tuple[Net, ...]:
        """Item by item, whatever the step: what has to be picked beyond what is there."""
        return tuple(_net(self.more, self.less))

    def to_return(self) -> tuple[Net, ...]:
        """Item by item, whatever the step: what is there and no longer wanted."""
        return tuple(_net(self.less, self.more))

    def as_json(self) -> dict[str, object]:
        """The difference as data."""
        return {
            "more": [line.as_json() for line in self.more],
            "less": [line.as_json() for line in self.less],
            "to_pick": [net.as_json() for net in self.to_pick()],
            "to_return": [net.as_json() for net in self.to_return()],
        }


def between(old: Kit, new: Kit) -> Difference:
    """The change from one kit to another. A refused kit has no lines, so all of it goes back."""
    return of_lines(old.lines, new.lines)


def of_lines(old: Iterable[Line], new: Iterable[Line]) -> Difference:
    """The change from one list of lines to another; each has one line for an item at a step."""
    was, will = _by_key(old), _by_key(new)
    return Difference(
        tuple(_beyond(will, was, ("now", "before"))),
        tuple(_beyond(was, will, ("before", "now"))),
    )


def _by_key(lines: Iterable[Line]) -> dict[Key, Line]:
    return {(line.item, line.step): line for line in lines}


def _beyond(
    these: Mapping[Key, Line], those: Mapping[Key, Line], words: tuple[str, str]
) -> Iterator[Line]:
    """What these lines hold beyond those; `words` name the two lists."""
    for key, line in these.items():
        other = those.get(key)
        if other is None:
            yield line
        elif line.pieces:
            pieces = _left(line.pieces, other.pieces)
            if pieces:
                yield replace(line, quantity=sum(pieces), pieces=pieces, reasons=_new(line, other))
        elif line.quantity > other.quantity:
            yield _less(line, other, words)


def _less(line: Line, other: Line, words: tuple[str, str]) -> Line:
    """A counted line with what it holds beyond another, and how that came about."""
    quantity = line.quantity - other.quantity
    *first, last = _new(line, other)
    told = f"{line.quantity} {words[0]} - {other.quantity} {words[1]} = {quantity}"
    last = last._replace(arithmetic=f"{last.arithmetic}; {told}")
    return replace(line, quantity=quantity, reasons=(*first, last))


def _new(line: Line, other: Line) -> tuple[Reason, ...]:
    """The reasons that the other line does not have; all of them where it has each."""
    known = set(other.reasons)
    return tuple(reason for reason in line.reasons if reason not in known) or line.reasons


def _left(these: Iterable[int], those: Iterable[int]) -> tuple[int, ...]:
    return tuple((Counter(these) - Counter(those)).elements())


def _net(these: Iterable[Line], those: Iterable[Line]) -> Iterator[Net]:
    """What is left of these once those of the same item are taken off, in the order of these."""
    mine, others = _sums(these), _sums(those)
    for code, (line, quantity, pieces) in mine.items():
        _, gone, gone_pieces = others.get(code, (line, 0, ()))
        left = _left(pieces, gone_pieces)
        net = sum(left) if pieces else quantity - gone
        if net > 0:
            yield Net(code, line.name, line.unit, net, left)


def _sums(lines: Iterable[Line]) -> dict[str, tuple[Line, int, tuple[int, ...]]]:
    sums: dict[str, tuple[Line, int, tuple[int, ...]]] = {}
    for line in lines:
        _, quantity, pieces = sums.get(line.item, (line, 0, ()))
        sums[line.item] = (line, quantity + line.quantity, (*pieces, *line.pieces))
    return sums

"""Lines of a kit: entries of one item at one step put together, with every reason kept."""

from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass, replace
from typing import NamedTuple

from kitting.plan.family import Family
from kitting.plan.meeting import Entry


class Reason(NamedTuple):
    """Why a line is there, and why so many."""

    need: str
    """With its part: "cover: front"."""
    rule: str
    arithmetic: str
    """In words, as "stack 1: 3 modules; 3 x 4 = 12"."""
    source: str
    """Where the figure comes from."""
    quantity: int = 0
    """Base units that this reason gives; 0 where a kit of an earlier day does not say."""
    place: str = ""
    """Where the need arises: "stack 1", "system"; empty where it is no one place."""
    by: str = ""
    """Code of the item that brings the need with it; empty for a need of the stack itself."""


class Alternative(NamedTuple):
    """What one answer to an open question takes of a line; the answers exclude each other."""

    question: str
    """The axis that is not answered yet."""
    answer: str
    """A value as people say it: "solid", or "7.1 mm to 12 mm"."""
    quantity: int
    """Base units; 0 where this answer takes none."""


@dataclass(frozen=True, slots=True)
class Line:
    """One item at one step."""

    item: str
    name: str
    tracking: str
    quantity: int
    """Base units, at least 1."""
    unit: str
    """piece, mm, ul or mm2"""
    step: str
    reasons: tuple[Reason, ...]
    pieces: tuple[int, ...] = ()
    """mm of each single piece of a length."""
    alternatives: tuple[Alternative, ...] = ()
    """What each answer to an open question takes of it; what the true one does not comes back."""

    def joined(self, other: "Line") -> "Line":
        """This line and another of the same item and step as one."""
        return replace(
            self,
            quantity=self.quantity + other.quantity,
            reasons=(*self.reasons, *other.reasons),
            pieces=(*self.pieces, *other.pieces),
            alternatives=(*self.alternatives, *other.alternatives),
        )

    def as_json(self) -> dict[str, object]:
        """The line as data."""
        told = asdict(self)
        told["reasons"] = [reason._asdict() for reason in self.reasons]
        told["pieces"] = list(self.pieces)
        told["alternatives"] = [other._asdict() for other in self.alternatives]
        return told


@dataclass(frozen=True, slots=True)
class Move:
    """An item that an expansion frees at one place and needs at another."""

    item: str
    quantity: int
    """Base units."""
    from_place: str
    to_place: str


def reason_of(entry: Entry) -> Reason:
    """The reason an entry gives."""
    demand, rule = entry.demand, entry.rule
    need = f"{demand.need}: {demand.of}" if demand.of else demand.need
    return Reason(
        need, rule.name, entry.words, rule.source, entry.quantity, demand.root[2], demand.by
    )


def line(
    family: Family,
    item: str,
    quantity: int,
    step: str,
    reasons: Iterable[Reason],
    pieces: Iterable[int] = (),
) -> Line:
    """A line of the family's item."""
    known = family.items[item]
    return Line(
        item=item,
        name=known.name,
        tracking=known.tracking,
        quantity=quantity,
        unit=known.unit,
        step=step,
        reasons=tuple(reasons),
        pieces=tuple(pieces),
    )


def grouped(entries: Iterable[Entry]) -> dict[tuple[str, str], list[Entry]]:
    """Entries by item and step."""
    groups: dict[tuple[str, str], list[Entry]] = {}
    for entry in entries:
        groups.setdefault((entry.item, entry.step), []).append(entry)
    return groups


def lines_of(family: Family, entries: Iterable[Entry]) -> list[Line]:
    """One line for each item at each step."""
    return [
        line(
            family,
            item,
            total(group),
            step,
            map(reason_of, group),
            (piece for entry in group for piece in entry.pieces),
        )
        for (item, step), group in grouped(entries).items()
    ]


def total(entries: Sequence[Entry]) -> int:
    """Base units of some entries of one item at one step: those that come once do not add up."""
    once = [entry.quantity for entry in entries if entry.rule.once]
    return sum(entry.quantity for entry in entries if not entry.rule.once) + max(once, default=0)


def in_order(family: Family, lines: Iterable[Line], steps: Sequence[str]) -> tuple[Line, ...]:
    """By step in the order of the job, then as the family lists its items."""
    listed = {code: place for place, code in enumerate(family.items)}
    placed = {key: place for place, key in enumerate(steps)}
    return tuple(sorted(lines, key=lambda found: (placed.get(found.step, 99), listed[found.item])))

"""Other ways to do what a line does, from stock: another allowed set, a ready-made lead.

The lines follow from configuration and edition alone and stay as they are; a person with the right
takes another way by hand, so that both stand side by side. What stock covers comes first, less what
earlier kits wait for, then the cheapest.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from inventory.lock import writing
from inventory.models import Item, Person
from inventory.words import amount, measure
from kitting import by_hand, families, hand_lines, lengths, sourcing
from kitting.hand_lines import Change
from kitting.models import Kit, KitLine
from kitting.packing import Reason, Refused
from kitting.plan import configuration as configurations
from kitting.plan import other_leads, other_sets
from kitting.plan.configuration import Configuration
from kitting.plan.counting.allowed_sets import Set, set_of
from kitting.plan.family import Family
from kitting.progress import fold
from kitting.shelves import on_shelves

Key = tuple[str, str]  # item code, step


@dataclass(frozen=True, slots=True)
class Way:
    """One other way."""

    words: str  # "harness 1500 (1.5 m)"
    changes: tuple[Change, ...]
    lacking: tuple[str, ...]  # what of it the shelves lack, in words; empty: all is here
    cost: int | None  # cents more than now, below 0 less; None: of something nobody entered a cost
    rank: int = 0  # among equals the shorter first

    @property
    def less(self) -> int:
        """Cents that it saves, 0 where it does not."""
        return max(-(self.cost or 0), 0)

    @property
    def key(self) -> str:
        """What a button sends: the lines as they would be."""
        return ";".join(f"{c.item.code}:{c.step}:{c.now}" for c in self.changes)


@dataclass(frozen=True, slots=True)
class Choice:
    """What the list has, whether it is short, and what would do as well, best first."""

    need: str
    words: str  # "2 x harness 600 (1.2 m) to span 0.7 m"
    items: frozenset[str]  # codes of what the list takes for it
    short: bool
    ways: tuple[Way, ...]

    @property
    def best(self) -> Way | None:
        """The first way that the shelves cover, if any."""
        return next((way for way in self.ways if not way.lacking), None)


def choices(kit: Kit) -> list[Choice]:
    """Return every choice that stock has for an open kit, or one that is not released yet."""
    if kit.closed_by_id is not None or kit.job.cancelled_at is not None:
        return []
    family = families.family_of(kit.edition)
    asked = configurations.parse(dict(kit.snapshot["configuration"]), family)
    stock = Stock(kit, family)
    found = [stock.sets(choice) for choice in other_sets.choices(family, asked)]
    return [choice for choice in [*found, *stock.leads(asked)] if choice.ways]


def when_short(kit: Kit, items: Iterable[Item]) -> list[Choice]:
    """Return the choices about items of which the shelves lack some; asks little where none is."""
    family, codes = families.family_of(kit.edition), {item.code for item in items}
    if codes.isdisjoint(_may_differ(family)):
        return []
    return [choice for choice in choices(kit) if choice.items & codes and choice.best]


def _may_differ(family: Family) -> set[str]:
    """Codes of all items of allowed sets, and of all that a lead may stand in for."""
    sets = (rule.counting.items() for rule in family.rules if rule.way == "allowed_sets")
    ready = (item.ready[0] for item in family.items.values() if item.ready)
    return {code for items in sets for code in items} | set(ready)


def take(kit: Kit, key: str, by: Person) -> str:
    """Take one way by hand; return what to say. Raises Refused: it is none of them any more."""
    with writing():
        # Looked at under the lock: meanwhile another may change the list.
        latest = kit.job.kit
        for choice in choices(latest) if latest is not None else ():
            for way in choice.ways:
                if way.key == key:
                    reason = f"{way.words} in place of {choice.words}"
                    hand_lines.put_all(kit.job, way.changes, reason, by)
                    return f"{way.words}: on the list by hand."
    raise Refused([Reason("way", "That way is not open any more. Look at the list again")])


class Stock:
    """What one kit has on its list and the shelves have for it."""

    def __init__(self, kit: Kit, family: Family) -> None:
        self.kit, self.family = kit, family
        self.lines = {(ln.item.code, ln.step): ln for ln in kit.lines.select_related("item")}
        self.by_hand = {(note["item"], note["step"]) for note in by_hand.notes(kit)}
        self.items = Item.objects.in_bulk(list(family.items), field_name="code")
        self.progress = fold(kit)
        self.lacks = {short.item.code for short in sourcing.shortages(kit)}
        ids = [item.pk for item in self.items.values()]
        stock = on_shelves(ids)
        self.free: dict[int, int] = {
            item: sum(spot.quantity for spot in spots) for item, spots in stock.items()
        }
        self.rack = lengths.Rack(stock)
        for earlier in sourcing.served_before(kit):
            progress = fold(earlier)
            for total in progress.totals.values():
                item = total.item.pk
                self.free[item] = max(self.free.get(item, 0) - total.to_pick, 0)
            for item, pieces in lengths.left(progress.lines).items():
                self.rack.cut(item, pieces)

    def sets(self, choice: other_sets.Choice) -> Choice:
        """An allowed set that the parts list takes, and the others; none once it is packed."""
        paths = ", ".join(measure(path, "mm") for path in dict.fromkeys(choice.paths))
        words = f"{self._named(choice.taken)} to span {paths}"
        ways = []
        packed = not any(self._to_take(self.items[code]) for code in choice.items())
        for other in () if packed else choice.others:
            changes = self._changes(dict(other.changes))
            # It is worked out against the parts list: over a change by hand, sets would mix.
            if changes and self.by_hand.isdisjoint(key for key, _ in other.changes):
                rank = sum(length for length, _ in other.sets)
                ways.append(self.way(self._named(other.sets), changes, rank))
        short = not self.lacks.isdisjoint(choice.items())
        return Choice(choice.need, words, choice.items(), short, tuple(_in_order(ways)))

    def leads(self, asked: Configuration) -> list[Choice]:
        """Lines of one piece cut to length, where a lead with its ends on may stand in."""
        ready = defaultdict(list)
        for item in self.family.items.values():
            if item.ready is not None:
                ready[item.ready[0]].append((item.ready[1], item.code))
        found = []
        for row in self.progress.lines:
            left = lengths.pieces_left(row) if row.line.whole else []
            holding = [
                one for one in sorted(ready[row.line.item.code]) if left and one[0] >= left[0]
            ]
            if len(left) != 1 or len(row.line.whole) != 1 or not holding:
                continue
            found.append(self._lead(row.line, left[0], holding, asked))
        return found

    def _lead(
        self, line: KitLine, piece: int, holding: list[tuple[int, str]], asked: Configuration
    ) -> Choice:
        ways, own = [], (line.item.code, line.step)
        for length, code in holding:
            moved = dict(other_leads.changes(self.family, asked, line.item.code, code))
            # By the parts list alone, as with sets; the one piece, and no other of the cable.
            alone = moved.get(own) == -piece and self.by_hand.isdisjoint(moved)
            changes = self._changes(moved) if alone else ()
            if changes:
                name = f"{self.items[code].name} ({measure(length, 'mm')}, its ends on)"
                ways.append(self.way(name, changes, length))
        words = f"{amount(piece, line.item)} in one piece"
        short = line.item.code in self.lacks
        return Choice("", words, frozenset({line.item.code}), short, tuple(_in_order(ways)))

    def _named(self, sets: Iterable[Set]) -> str:
        parts = []
        for length, items in sets:
            each = (f"{items.count(code)} x {self.items[code].name}" for code in set_of(items))
            parts.append(f"{' + '.join(each)} ({measure(length, 'mm')})")
        return ", ".join(parts)

    def _changes(self, moved: Mapping[Key, int]) -> tuple[Change, ...]:
        """The lines as they would be; nothing where one of them has too little to give."""
        found = []
        for (code, step), change in moved.items():
            line = self.lines.get((code, step))
            before = line.quantity if line is not None else 0
            if before + change < 0 or code not in self.items:
                return ()
            found.append(Change(self.items[code], step, before, before + change))
        return tuple(found)

    def way(self, words: str, changes: Sequence[Change], rank: int = 0) -> Way:
        """One way with what the shelves lack for it and what it costs besides."""
        more: dict[Item, int] = defaultdict(int)
        for change in changes:
            more[change.item] += change.now - change.before
        lacking = [
            amount(short, item)
            for item, extra in more.items()
            if extra > 0 and (short := self._short(item, extra)) > 0
        ]
        known = all(item.cost for item in more)
        cost = sum(Fraction(item.cost * extra, item.cost_for) for item, extra in more.items())
        return Way(words, tuple(changes), tuple(lacking), round(cost) if known else None, rank)

    def _short(self, item: Item, extra: int) -> int:
        """Base units that the shelves lack for so many more; of a length one piece more."""
        if item.unit == "mm":
            mine = lengths.left(self.progress.lines).get(item.pk, [])
            return 0 if self.rack.holds(item.pk, [*mine, extra]) else extra
        return self._to_take(item) + extra - self.free.get(item.pk, 0)

    def _to_take(self, item: Item) -> int:
        total = self.progress.totals.get(item.code)
        return total.to_pick if total is not None else 0


def _in_order(ways: Iterable[Way]) -> list[Way]:
    """What the shelves cover first, then the cheapest, what has no cost last, then the shortest."""
    return sorted(
        ways,
        key=lambda way: (bool(way.lacking), way.cost is None, way.cost or 0, way.rank, way.key),
    )

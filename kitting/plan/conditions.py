"""A condition: every one of "name in set" or "name in range". No expressions."""

from collections.abc import Collection
from dataclasses import dataclass

from kitting.plan.reading import LARGEST, Table, is_whole, shown
from kitting.plan.site import Scope, Site


@dataclass(frozen=True, slots=True)
class Condition:
    """One name and what it may be."""

    name: str
    allowed: frozenset[int | str]
    """The set; empty where a range is meant."""
    low: int
    high: int
    """The range, both ends inside."""

    def holds(self, scope: Scope | Site) -> bool:
        """Whether it holds; a question that does not arise holds nothing."""
        value = scope.read(self.name)
        if self.allowed:
            return value in self.allowed
        return isinstance(value, int) and self.low <= value <= self.high


When = tuple[Condition, ...]


def holds(when: When, scope: Scope | Site) -> bool:
    """Whether all of them hold. Raises UnknownInput."""
    for condition in when:  # noqa: SIM110 - a kit asks this some 300 times; all() takes twice as long
        if not condition.holds(scope):
            return False
    return True


def parse(table: Table, names: Collection[str], key: str = "when") -> When:
    """{ wall = ["solid"], modules = { min = 2, max = 4 } }; nothing written = always."""
    inner = table.inner(key)
    if inner is None:
        return ()
    found = []
    for name in inner.data:
        if name not in names:
            inner.unknown(name, name, names)
        found.append(_one(inner, name))
    return tuple(found)


def _one(table: Table, name: str) -> Condition:
    value = table.take(name, "a list or { min, max }")
    if isinstance(value, list) and value and all(isinstance(v, str) or is_whole(v) for v in value):
        return Condition(name, frozenset(value), 0, 0)
    if isinstance(value, dict) and value:
        inner = Table(value, f"{table.where}: {name}", table.faults)
        low = inner.whole("min", -LARGEST, default=-LARGEST)
        high = inner.whole("max", -LARGEST, default=LARGEST)
        inner.finish()
        if low > high:
            table.fault(name, f"expected min not above max, got {low} and {high}")
            low = high
        return Condition(name, frozenset(), low, high)
    table.fault(name, f"expected a list of values or {{ min, max }}, got {shown(value)}")
    return Condition(name, frozenset(), 0, 0)

"""A figure that may grow with the configuration: fixed + factor x name + ..., nothing cleverer."""

from collections.abc import Collection
from dataclasses import dataclass

from kitting.plan.reading import LARGEST, Table, is_whole, shown
from kitting.plan.site import Scope


@dataclass(frozen=True, slots=True)
class Linear:
    """fixed + the sum of factor x what stands under the name."""

    fixed: int
    """In the figure's own unit (mm, pieces, tenths of mm)."""
    terms: tuple[tuple[str, int], ...] = ()
    """(name, factor) pairs; names as in conditions."""

    def value(self, scope: Scope) -> int:
        """The figure for one need. Raises UnknownInput."""
        total = self.fixed
        for name, factor in self.terms:
            total += factor * scope.number(name)
        return total

    def words(self, scope: Scope) -> str:
        """The figure's arithmetic, as "260 + 340 x 4"."""
        parts = [str(self.fixed)] if self.fixed or not self.terms else []
        for name, factor in self.terms:
            number = scope.number(name)
            parts.append(str(number) if factor == 1 else f"{factor} x {number}")
        return " + ".join(parts).replace("+ -", "- ")


def parse(table: Table, key: str, names: Collection[str], default: Linear | None = None) -> Linear:
    """A number, a name, or { fixed = 260, modules = 340 }."""
    if default is not None and not table.has(key):
        return default
    value = table.take(key, "a number, a name or a table of factors")
    if isinstance(value, int) and is_whole(value) and abs(value) <= LARGEST:
        return Linear(value)
    if isinstance(value, str) and value in names:
        return Linear(0, ((value, 1),))
    if isinstance(value, dict) and value:
        return _from_table(table, key, value, names)
    if value is not None:
        table.fault(key, f"expected a number, a known name or factors, got {shown(value)}")
    return Linear(0)


def _from_table(
    table: Table, key: str, factors: dict[str, object], names: Collection[str]
) -> Linear:
    inner = Table(factors, f"{table.where}: {key}", table.faults)
    terms = []
    for name in factors:
        factor = inner.whole(name, -LARGEST)
        if name != "fixed" and name not in names:
            inner.fault(name, f"expected fixed or a known name, got {name!r}")
        elif name != "fixed":
            terms.append((name, factor))
    return Linear(inner.whole("fixed", -LARGEST, default=0), tuple(terms))

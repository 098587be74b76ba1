"""One question about the site, and what counts as an answer."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from kitting.plan import conditions
from kitting.plan.conditions import When
from kitting.plan.reading import Table, is_whole, shown
from kitting.plan.site import COMPUTED, HEIGHT, UNKNOWN

UNIT: Final = re.compile(r"\s*\((?:tenths of )?mm\)")
KINDS: Final = ("choice", "whole", "length", "diameter")
RESERVED: Final = frozenset(
    {
        *(*COMPUTED, HEIGHT, "stack", "length", "diameter", "hole", "thread"),
        *("cables", "depth", "core", "strands", "trade", "family", "before", "revisions"),
    }
)


@dataclass(frozen=True, slots=True)
class Axis:
    """One question."""

    name: str
    question: str
    kind: str
    """choice, whole, length (mm) or diameter (tenths of mm)."""
    values: tuple[str, ...]
    """Of a choice."""
    low: int
    high: int
    """Of a number, both ends allowed."""
    unknown: bool
    """Whether "unknown" is an answer."""
    when: When
    """Asked only then."""

    @property
    def plain(self) -> str:
        """The question without its unit: an answer that is shown names its own."""
        return UNIT.sub("", self.question)

    def shown(self, value: int | str) -> str:
        """A value of a configuration as people say it, with its unit.

        Lengths stay in mm, tenths of mm of a diameter are mm.
        """
        if isinstance(value, str) and not value.isdigit():
            return value
        if self.kind == "diameter":
            return f"{int(value) / 10:g} mm"
        return f"{value} mm" if self.kind == "length" or UNIT.search(self.question) else str(value)

    def wanted(self) -> str:
        """What an answer looks like, for messages."""
        if self.kind == "choice":
            wanted = f"one of {', '.join(self.values)}"
        else:
            unit = {"length": " mm", "diameter": " tenths of mm"}.get(self.kind, "")
            wanted = f"a whole number from {self.low} to {self.high}{unit}"
        return f"{wanted} or {UNKNOWN}" if self.unknown else wanted

    def accepts(self, value: object) -> bool:
        """Whether a value is an answer to the question."""
        if value == UNKNOWN:
            return self.unknown
        if self.kind == "choice":
            return value in self.values
        return isinstance(value, int) and is_whole(value) and self.low <= value <= self.high


def parse(table: Table, earlier: Mapping[str, "Axis"]) -> Axis:
    """One [[axis]]. Its `when` may use earlier ones only, and none that may stay unknown."""
    name = table.text("name")
    if name in RESERVED or name in earlier or not name.isidentifier() or name != name.lower():
        table.fault("name", f"expected a new small_letter name, got {shown(name)}")
    kind = table.text("kind", among=KINDS)
    if not kind:
        # What else it must say hangs on the kind.
        table.taken.update(table.data)
        return Axis(name, table.text("question"), "", (), 0, 0, unknown=False, when=())
    choice = kind == "choice"
    settled = {*COMPUTED, *(name for name, axis in earlier.items() if not axis.unknown)}
    low = 0 if choice else table.whole("min")
    axis = Axis(
        name=name,
        question=table.text("question"),
        kind=kind,
        values=table.texts("values") if choice else (),
        low=low,
        high=0 if choice else table.whole("max", low),
        unknown=table.flag("unknown", default=False),
        when=conditions.parse(table, settled),
    )
    if choice and (UNKNOWN in axis.values or len(set(axis.values)) != len(axis.values)):
        table.fault("values", f"expected different values, none of them {UNKNOWN}")
    table.finish()
    return axis

"""The ends of a data line, told by the ohms that somebody measured."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from inventory.intake import Act, Verdict
from inventory.models import Finding, Role
from inventory.moving import CannotMove, Writing
from kitting import access, families, gates
from kitting.models import BusReading, Kit
from kitting.plan import configuration as configurations
from kitting.plan.bus_ohms import verdict
from kitting.plan.conditions import holds
from kitting.plan.site import UnknownInput

CAUTION: Final = {
    "words": (
        "Maker's manual first: it says whether and where this line may be measured. Switch "
        "everything off, isolate the direct-current side and prove it dead before a plug is drawn "
        "or a meter is put on; a line under power gives a false reading and can hurt you."
    ),
    "decides": "the maker's manual, then the licensed electrician",
}


@dataclass(frozen=True, slots=True)
class Line:
    """One data line of a job, with what was measured last."""

    name: str
    ohm: int | None  # None: not measured yet
    right: bool
    words: str


def measure(writes: Writing) -> Verdict:
    """Keep the ohms ("number") of the data line that "kind" names."""
    kit = gates.open_kit(writes)
    bus, ohm = writes.line.kind, writes.line.number
    names = list(names_of(kit))
    if bus not in names:
        raise CannotMove(f"Choose the data line: {', '.join(names) or 'this job has none'}")
    if ohm is None:
        raise CannotMove("Say what the meter shows, in whole ohms")
    BusReading.objects.create(event=writes.event, kit=kit, bus=bus, ohm=ohm)
    for old in _open_findings(kit, bus):
        writes.answer(old, f"It was measured again: {ohm} ohm.")
    told = verdict(ohm)
    words = f"{bus}: {ohm} ohm. {told.words}."
    if told.right:
        return Verdict("applied", words)
    writes.finding(Finding.Kind.WRONG, words)
    return Verdict("problem", words)


def _open_findings(kit: Kit, bus: str) -> list[Finding]:
    found = Finding.objects.filter(
        subject=kit.subject, event__step="measure_bus", event__bus_reading__bus=bus, answer=None
    )
    return list(found)


def names_of(kit: Kit) -> Iterator[str]:
    """Return the data lines that the configuration has, one a stack where each has its own."""
    family = families.family_of(kit.edition)
    site = configurations.parse(dict(kit.snapshot["configuration"]), family).site()
    for bus in family.buses:
        try:
            there = holds(bus.when, site)
        except UnknownInput:
            there = True  # it may be there: better asked than left out
        if there and bus.per == "stack":
            yield from (f"{bus.name} {number}" for number, _ in enumerate(site.shape, 1))
        elif there:
            yield bus.name


def lines_of(kit: Kit) -> list[Line]:
    """Return the data lines of a kit, each with what it showed last."""
    rows = BusReading.objects.filter(kit=kit, event__reversed_by=None).order_by("pk")
    read = {row.bus: row.ohm for row in rows}
    return [_line(name, read.get(name)) for name in names_of(kit)]


def _line(name: str, ohm: int | None) -> Line:
    if ohm is None:
        return Line(name, None, False, "not measured yet")
    told = verdict(ohm)
    return Line(name, ohm, told.right, told.words)


MEASURE_BUS = Act("measure_bus", frozenset(Role.values), measure, allow=access.allow)

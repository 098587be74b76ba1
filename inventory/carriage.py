"""Damaged, faulty and recalled batteries: the caution, and who decides how they are packed.

ADR 3.3.1, special provision 376 (UNECE, ADR 2025): lithium cells and batteries identified as
damaged or defective are carried by packing instruction P908 or LP904; those liable to disassemble
rapidly, react dangerously, produce a flame, a dangerous evolution of heat or a dangerous emission
of gases under normal conditions of carriage by P911 or LP906, or as a competent authority
approves. An assessment by the criteria of the maker, or by an expert who knows the cell, decides.
The program never decides: a person does, with name, day and reason; nothing is filled in before.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Final

from inventory.intake import Act, Verdict
from inventory.models import ChargeRule, Item, Return, ReturnStep, Role, Unit
from inventory.moving import CannotMove, Writing
from inventory.return_routes import GRAVE
from inventory.returns import note, of_event, open_ones, recalled, steps_of

SOURCE: Final = "ADR 3.3.1, special provision 376"


@dataclass(frozen=True, slots=True)
class Packing:
    """One way in which what came off may be packed and carried."""

    words: str
    more: str  # what follows from it
    source: str


CLASSES: Final[dict[str, Packing]] = {
    "ordinary": Packing(
        "neither damaged nor defective in the sense of the rule",
        "It is carried as any other of its kind.",
        SOURCE,
    ),
    "p908": Packing(
        "damaged or defective, not liable to react dangerously: P908 or LP904",
        "Packing and mark as the instruction says.",
        SOURCE,
    ),
    "p911": Packing(
        "liable to react dangerously: P911 or LP906",
        "Only as the instruction or the competent authority says. Ask the maker and the dangerous"
        " goods adviser first.",
        SOURCE,
    ),
}
CAUTION: Final = (
    "A damaged, wet, hot, swollen or smelling battery can burn hours or days later. The maker's"
    " instruction for emergencies comes first; call the fire service where it says so. Keep people"
    " away. Only a competent person isolates it. Do not charge it, open it or put it with others."
    " Stand it apart in a ventilated place, away from people and from all that burns."
)
AT_ONCE: Final = (
    "Keep people away from it, do not charge or open it; the maker's emergency instruction first."
)
"""The caution in one line, for the answer to a scan; CAUTION stands on the pages."""
DECIDES: Final = (
    "the maker, a person competent for it, the dangerous goods adviser for the road; local rules"
)
"""Common practice of makers' emergency sheets, from memory; the maker's own goes first."""

_ASKED: list[Callable[[Item], bool]] = []


def register(asks: Callable[[Item], bool]) -> None:
    """Let `asks` say whether an item is a battery on the road."""
    if asks not in _ASKED:
        _ASKED.append(asks)


def battery(item: Item) -> bool:
    """Whether an item is a battery on the road: as its parts list says, or it has to be charged."""
    return any(asks(item) for asks in _ASKED) or ChargeRule.objects.filter(item=item).exists()


def grave(unit: Unit) -> Return | None:
    """Return the open return for which a battery may not be carried like any other, if any."""
    found = open_ones().filter(unit=unit, kind__in=GRAVE).order_by("-pk").first()
    return found if found is not None and battery(unit.item) else None


def decision(found: Return) -> ReturnStep | None:
    """Return the latest decision about how it is packed that stands, with who took it."""
    steps = steps_of(found).filter(kind=ReturnStep.Kind.PACKING)
    return steps.select_related("event__person").order_by("-pk").first()


def undecided(unit: Unit) -> str:
    """Return why this unit may not be carried yet, "" if nothing of this stops it."""
    found = grave(unit)
    if found is None and recalled(unit) and battery(unit.item):
        return (
            f"{unit} is a recalled battery, and nobody has decided yet how it is packed and"
            f" carried ({SOURCE}). Ask the office; they say first that it comes back"
        )
    if found is None or decision(found) is not None:
        return ""
    return (
        f"{unit} is a {found.get_kind_display()} battery, and nobody has decided yet how it is"
        f" packed and carried ({SOURCE}). Ask the office; {found.code}"
    )


def undecided_of(units: Iterable[Unit]) -> str:
    """Return why some of these may not be carried yet, each by its name; "" if all may."""
    stay = [(unit, words) for unit in units if (words := undecided(unit))]
    others = ", ".join(str(unit) for unit, _ in stay[1:])
    first = stay[0][1] if stay else ""
    return f"{first}. The same holds for {others}" if others else first


def may_go(*units: Unit) -> None:
    """Stop batteries that go on a van or to a carrier before a named person has decided."""
    words = undecided_of(units)
    if words:
        raise CannotMove(words)


def decide(writes: Writing) -> Verdict:
    """A lead decides how a damaged or recalled battery is packed: kind of CLASSES, with a reason.

    Nothing is assumed where nobody decides.
    """
    found = of_event(writes)
    if found.unit is None or not battery(found.unit.item):
        raise CannotMove(f"{found.item.name} is no battery: nothing of this kind is asked")
    if writes.line.kind not in CLASSES:
        raise CannotMove("Say how it is packed: there is nothing that counts without a decision")
    if not writes.line.reason:
        raise CannotMove("Say why: what was seen or measured, by whose criteria")
    chosen = CLASSES[writes.line.kind]
    words = f"{chosen.words}: {writes.line.reason}"
    note(writes, found, ReturnStep.Kind.PACKING, words, value=writes.line.kind)
    return Verdict("applied", f"{found.unit}: {chosen.words}. {chosen.more}")


PACKING = Act("packing_class", frozenset({Role.MANAGER}), decide)

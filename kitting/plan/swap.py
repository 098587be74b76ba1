"""A swap: single units of what stands are replaced by new ones of the same kind.

What stands on a unit comes off before the unit does: from the lowest swapped place up every joint
is opened, and what seals or trims it and is marked `renew` is renewed. Everything else is put back
as it was. Source: geometry of a stack; common practice, no published source.
Law: what stands + lines that stay = what stands + comes back + renewed.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final

from kitting.plan import outline
from kitting.plan.configuration import Configuration
from kitting.plan.expansion import Change
from kitting.plan.family import Family
from kitting.plan.lines import Line, Reason, line, lines_of, reason_of
from kitting.plan.meeting import Entry, Met, Problem
from kitting.plan.needs import NEEDS, STANDING, WORK
from kitting.plan.site import Scope
from kitting.plan.tasks import Task
from kitting.plan.topology import stack_of

RULE: Final = "swap"
OPENED: Final = ("place module", "place head", "join units", "seal joints", "cover")
"""Needs whose hardware is opened when a unit is taken out."""
LOOSENED: Final = ("link power", "link data", "end the bus", "fix to wall", "restrain")
"""Needs that are loosened and made again with what was there: their steps are worked."""
OF_HEAD: Final = ("enter cable", "seal entry")
LOOSENED_HEAD: Final = (
    *("connect inverter", "connect stacks", "run power", "run data", "run earth", "bond"),
    "protect and isolate",
)
"""The same where the head is swapped: cables leave it and come back."""
ALWAYS: Final = frozenset({"look", "down"})
"""Steps of every swap."""


@dataclass(frozen=True, slots=True)
class Opened:
    """One stack that is opened from a level up."""

    stack: int
    modules: int
    low: int
    """Lowest level that is swapped."""
    head: bool
    """Whether the head is among what is swapped."""

    @property
    def place(self) -> str:
        """As needs name it."""
        return f"stack {self.stack}"

    def share(self, family: Family, per: str) -> tuple[int, int]:
        """How many joints, links or modules are opened, of how many; (1, 1) for all else."""
        joints, links = family.joints.joints(self.modules), family.joints.links(self.modules)
        match per:
            case "joint":
                return joints - max(0, self.low - 2 + family.joints.with_base), joints
            case "link":
                return links - max(0, self.low - 2), links
            case "module":
                return self.modules - self.low + 1, self.modules
        return 1, 1


def opened(configuration: Configuration) -> tuple[Opened, ...]:
    """The stacks that a swap opens."""
    levels: dict[int, list[int]] = {}
    for stack, level in configuration.swap:
        levels.setdefault(stack, []).append(level)
    return tuple(
        Opened(stack, modules, min(found), max(found) > modules)
        for stack, found in sorted(levels.items())
        for modules in [configuration.shape[stack - 1]]
    )


def concerned(family: Family, configuration: Configuration, met: Met) -> Met:
    """Of all that stands and all work, what a swap has to do with."""
    stacks = opened(configuration)
    worked = _worked(stacks, met.entries)

    def has(root: tuple[str, str, str]) -> bool:
        return _has(root, stacks, worked)

    def counts(problem: Problem) -> bool:
        return problem.demand is None or has(problem.demand.root)

    return Met(
        [entry for entry in met.entries if has(entry.demand.root)],
        [problem for problem in met.problems if counts(problem)],
        [open_ for open_ in met.open if has(open_.demand.root)],
        [answer for answer in met.answered if has(answer[0].root)],
        [told for told in met.tasks if has(told.demand.root) and _is_work(told.demand.root)],
    )


def _worked(stacks: tuple[Opened, ...], entries: Iterable[Entry]) -> frozenset[str]:
    """The steps at which something is done."""
    head = any(found.head for found in stacks)
    needs = {*OPENED, *LOOSENED, *((*OF_HEAD, *LOOSENED_HEAD) if head else ())}
    found = {
        entry.step
        for entry in entries
        if entry.demand.root[0] in needs and _here(entry.demand.root[2], stacks)
    }
    return ALWAYS | found


def _has(root: tuple[str, str, str], stacks: tuple[Opened, ...], worked: frozenset[str]) -> bool:
    need, of, place = root
    if need in ("tools", "gear"):
        return of.split(":")[0] in worked
    if not _here(place, stacks):
        return False
    head = any(found.head for found in stacks)
    return _is_work(root) or need in (*OPENED, "dispense") or (head and need in OF_HEAD)


def _is_work(root: tuple[str, str, str]) -> bool:
    return NEEDS[root[0]].kind == WORK


def _here(place: str, stacks: tuple[Opened, ...]) -> bool:
    """Whether a need's place is one of the stacks, or the whole system."""
    stack = stack_of(place)
    return not stack.startswith("stack ") or any(stack == found.place for found in stacks)


def change(family: Family, configuration: Configuration, met: Met) -> Change:
    """`met`: what the swap has to do with, met."""
    units = list(_units(family, configuration, met))
    renewed = list(_renewed(family, configuration, met))
    work = lines_of(family, (e for e in met.entries if _is_work(e.demand.root)))
    return Change(
        lines=tuple(_together([*work, *units, *renewed])),
        comes_back=tuple(_together(units)),
        renewed=tuple(_together(renewed)),
    )


def missing(family: Family, configuration: Configuration, met: Met) -> Iterator[str]:
    """Positions whose unit no rule of the family gives."""
    for stack, level in configuration.swap:
        if _giving(family, configuration, met, stack, level) is None:
            yield f"stack {stack} place {level}: no unit of the parts list stands there"


def item_at(family: Family, configuration: Configuration, stack: int, level: int) -> str:
    """Code of the unit at a place of the drawing; empty where none stands."""
    modules = configuration.shape[stack - 1]
    scope = Scope(configuration.site().for_job("new"), {"stack": stack, "modules": modules})
    found = outline.shape(family, "module" if level <= modules else "head", scope)
    return found.item if found is not None else ""


def _giving(
    family: Family, configuration: Configuration, met: Met, stack: int, level: int
) -> Entry | None:
    item = item_at(family, configuration, stack, level)
    stacks = (Opened(stack, 1, level, False),)
    for entry in met.entries:
        root = entry.demand.root
        if entry.item == item and NEEDS[root[0]].kind == STANDING and _here(root[2], stacks):
            return entry
    return None


def _units(family: Family, configuration: Configuration, met: Met) -> Iterator[Line]:
    for stack, level in configuration.swap:
        entry = _giving(family, configuration, met, stack, level)
        if entry is not None:
            given = reason_of(entry)
            words = f"stack {stack} place {level} is swapped"
            reason = Reason(given.need, RULE, words, "", 1, f"stack {stack}")
            yield line(family, entry.item, 1, entry.step, [reason])


def _renewed(family: Family, configuration: Configuration, met: Met) -> Iterator[Line]:
    """What is opened and not used again; nozzles only where something wet is renewed."""
    stacks, wet = opened(configuration), set()
    for entry in met.entries:
        root = entry.demand.root
        if root[0] == "dispense" or _is_work(root) or not family.items[entry.item].renew:
            continue
        for found in _renewal(family, entry, stacks):
            yield found
            if found.unit == "ul":
                wet.add(entry.step)
    for entry in met.entries:
        if entry.demand.root[0] == "dispense" and entry.step in wet:
            yield line(family, entry.item, entry.quantity, entry.step, [reason_of(entry)])


def _renewal(family: Family, entry: Entry, stacks: tuple[Opened, ...]) -> Iterator[Line]:
    """The part of an entry that lies at what is opened."""
    need, of, place = entry.demand.root
    parts = [part.per for part in family.parts if (part.need, part.of) == (need, of)]
    per = parts[0] if parts else NEEDS[need].per
    mine = next((found for found in stacks if stack_of(place) == found.place), None)
    open_, whole = mine.share(family, per) if mine is not None else (1, 1)
    if open_ < 1:
        return
    quantity = entry.quantity if entry.pieces else -(-entry.quantity * open_ // whole)
    reason = reason_of(entry)._replace(quantity=quantity)
    if whole > 1:
        words = f"{reason.arithmetic}; {open_} of {whole} opened = {quantity}"
        reason = reason._replace(arithmetic=words)
    yield line(family, entry.item, quantity, entry.step, [reason], entry.pieces)


def _together(lines: Iterable[Line]) -> Iterator[Line]:
    """One line for each item at each step."""
    found: dict[tuple[str, str], Line] = {}
    for one in lines:
        known = found.get((one.item, one.step))
        found[one.item, one.step] = one if known is None else known.joined(one)
    yield from found.values()


def tasks(family: Family, configuration: Configuration) -> Iterator[Task]:
    """What is taken apart and put together again, at the step of joining."""
    known = {step.key for step in family.steps}
    step = "join" if "join" in known else "look"
    for found in opened(configuration):
        levels = sorted(level for stack, level in configuration.swap if stack == found.stack)
        named = " and ".join(str(level) for level in levels)
        words = f"Take the stack apart from the top down to place {found.low}, put the new unit in"
        words += f" at place {named}, and put the rest back in the order it stood."
        yield Task(step, words, "join units", RULE, found.place)

"""From the shape of a configuration to the needs of its stacks: joints, links, gaps, ends, entries,
blanks.

Source: geometry of a chain (n units have n - 1 joints between them; a bus has two ends) and the
family's [topology].
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import Final, Protocol

from kitting.plan import steps
from kitting.plan.conditions import holds
from kitting.plan.counting.bus_ends import ENDS
from kitting.plan.family import Family
from kitting.plan.given import THROUGH, CannotCount, Demand
from kitting.plan.needs import MEASURES, NEEDS, RUN_NEEDS, Need
from kitting.plan.site import Asked, Measures, Scope, Site
from kitting.plan.wiring import Bus, Entry, Hole, Run


class Source(Protocol):
    """Something of the family that raises needs."""

    @property
    def need(self) -> Need:
        """The need of the closed list."""

    @property
    def of(self) -> str:
        """The part of it."""

    def demands(self, family: Family, site: Site) -> Iterator[Demand]:
        """The needs it raises at a site; none where its count is nought."""


def demand(need: str, of: str, place: str, count: int, measures: Measures, words: str) -> Demand:
    """A need of the stack itself, its own root."""
    return Demand(need, of, (need, of, place), count, measures, words, "")


def stack_of(place: str) -> str:
    """The stack of a place that may name one of its units too; any other place as it is.

    >>> stack_of("stack 1 place 3"), stack_of("system")
    ('stack 1', 'system')
    """
    return " ".join(place.split()[:2]) if place.startswith("stack ") else place


def _many(number: int, noun: str) -> str:
    """A number with its noun.

    >>> _many(1, "joint"), _many(2, "joint")
    ('1 joint', '2 joints')
    """
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


@dataclass(frozen=True, slots=True)
class Counted:
    """A need or a part of one, by module, joint, link, stack, gap or for the whole system."""

    need: Need
    of: str
    per: str

    def demands(self, family: Family, site: Site) -> Iterator[Demand]:
        """One need for each stack (or gap, or for the system) that has any."""
        name = self.need.name
        if self.per == "system":
            yield demand(name, self.of, "system", 1, {}, "1 system")
            return
        for number, modules in enumerate(site.stacks(), 1):
            measures = {"stack": number, "modules": modules}
            count, words = self._of_stack(family, number, modules)
            if count > 0:
                place = f"stack {number}"
                yield demand(name, self.of, place, count, measures, f"{place}: {words}")

    def _of_stack(self, family: Family, number: int, modules: int) -> tuple[int, str]:
        match self.per:
            case "module":
                return modules, _many(modules, "module")
            case "joint":
                return _chain(modules, family.joints.joints(modules), "joint")
            case "link":
                return _chain(modules, family.joints.links(modules), "link")
            case "gap":
                return (1, "1 gap beside it") if number > 1 else (0, "")
        return 1, "1 stack"


def _chain(modules: int, count: int, noun: str) -> tuple[int, str]:
    more = count - modules
    sign = f" {'+' if more > 0 else '-'} {abs(more)}" if more else ""
    return count, f"{_many(modules, 'module')}{sign} = {_many(count, noun)}"


@dataclass(frozen=True, slots=True)
class Ends:
    """The two ends of each bus."""

    need: Need
    bus: Bus

    @property
    def of(self) -> str:
        """The bus."""
        return self.bus.name

    def demands(self, family: Family, site: Site) -> Iterator[Demand]:
        """One need of two ends for each bus, at the place of its far end."""
        bus = self.bus
        if not holds(bus.when, Scope(site, {})):
            return
        if bus.per == "stack":
            for number, modules in enumerate(site.stacks(), 1):
                measures = {"stack": number, "modules": modules}
                place = f"stack {number} place {modules}"
                yield demand("end the bus", bus.name, place, ENDS, measures, place)
            return
        shape = site.stacks()
        place = f"stack {len(shape)} place {shape[-1]}"
        yield demand("end the bus", bus.name, place, ENDS, {}, f"bus ending at {place}")


@dataclass(frozen=True, slots=True)
class OfRun:
    """One need of one cable run: the run itself, its entries, its way."""

    need: Need
    run: Run
    entry: bool
    """Counted by entries instead of runs."""

    @property
    def of(self) -> str:
        """The run."""
        return self.run.name

    def demands(self, family: Family, site: Site) -> Iterator[Demand]:
        """One need for each time the run exists."""
        for number, place in places(self.run, site):
            count = self.run.entries if self.entry else 1
            measures = self._measures(family, site, number)
            words = f"{self.run.name}, {place}"
            if self.entry:
                words += f": {count} {'entry' if count == 1 else 'entries'}"
            yield demand(self.need.name, self.run.name, place, count, measures, words)

    def _measures(self, family: Family, site: Site, number: int) -> Measures:
        run = self.run
        measures: dict[str, int | str | Asked] = {}
        if number:
            measures = {"stack": number, "modules": site.stacks()[number - 1]}
        if not self.entry:
            measures["length"] = run.length.value(Scope(site, measures))
            return measures
        measures["hole"] = _thread(family, run.hole)
        if run.diameter:
            measures["diameter"] = _diameter(run)
        return measures


def _thread(family: Family, hole: str) -> str:
    return next(group.thread for group in family.holes if group.name == hole)


def _diameter(run: Run) -> int | Asked:
    return Asked(run.diameter) if isinstance(run.diameter, str) else run.diameter


@dataclass(frozen=True, slots=True)
class OfEntry:
    """One need of the hole that several cables share."""

    need: Need
    entry: Entry

    @property
    def of(self) -> str:
        """The entry."""
        return self.entry.name

    def demands(self, family: Family, site: Site) -> Iterator[Demand]:
        """One need for each place where any of the cables arrives, with the diameter of each."""
        for (number, place), runs in together(self.entry, family, site).items():
            measures: dict[str, int | str | Asked] = {"cables": len(runs)}
            if number:
                measures |= {"stack": number, "modules": site.stacks()[number - 1]}
            measures["hole"] = _thread(family, self.entry.hole)
            measures |= {f"{THROUGH}{run.name}": _diameter(run) for run in runs}
            if len(runs) == 1:
                measures["diameter"] = _diameter(runs[0])
            named = " and ".join(run.name for run in runs)
            words = f"{named}, {place}: 1 entry"
            yield demand(self.need.name, self.entry.name, place, 1, measures, words)


def together(entry: Entry, family: Family, site: Site) -> dict[tuple[int, str], list[Run]]:
    """(stack number or 0, place) -> the entry's runs that arrive there."""
    found: dict[tuple[int, str], list[Run]] = {}
    for run in family.runs:
        for place in places(run, site) if run.name in entry.runs else ():
            found.setdefault(place, []).append(run)
    return found


def places(run: Run, site: Site) -> list[tuple[int, str]]:
    """Where the run exists: (stack number or 0, place in words)."""
    if not holds(run.when, Scope(site, {})):
        return []
    if run.per == "system":
        return [(0, "system")]
    first = 1 if run.per == "stack" else 2
    return [(number, f"stack {number}") for number in range(first, len(site.stacks()) + 1)]


@dataclass(frozen=True, slots=True)
class FreeHoles:
    """Holes of a group that no run uses."""

    need: Need
    hole: Hole

    @property
    def of(self) -> str:
        """The holes' thread."""
        return self.hole.thread

    def demands(self, family: Family, site: Site) -> Iterator[Demand]:
        """One need with the free holes, where there are any."""
        there = self.hole.count.value(Scope(site, {}))
        runs = [run for run in family.runs if run.hole == self.hole.name]
        used = sum(run.entries * len(places(run, site)) for run in runs)
        shared = [entry for entry in family.entries if entry.hole == self.hole.name]
        used += sum(len(together(entry, family, site)) for entry in shared)
        if used > there:
            raise CannotCount(f"{used} cables want holes {self.hole.thread}, there are {there}")
        if there > used:
            words = f"{there} {self.hole.thread} holes - {used} used = {there - used}"
            measures = {"hole": self.hole.thread}
            place = self.hole.name
            yield demand("blank entry", self.hole.thread, place, there - used, measures, words)


RUN_PLACES: Final = (("enter cable", True), ("seal entry", True))
RUN_PATHS: Final = (("support cable", False), ("enclose cable", False))


@lru_cache(maxsize=64)
def sources(family: Family) -> tuple[Source, ...]:
    """Everything of the family that raises needs, standing, of the work, and of taking down."""
    found: list[Source] = []
    for need in NEEDS.values():
        parts = [part for part in family.parts if part.need == need.name]
        if need.per == "step":
            found += _of_steps(need, [part.of for part in parts], family)
        elif parts:
            found += [Counted(need, part.of, part.per) for part in parts]
        elif need.per in MEASURES:
            found.append(Counted(need, "", need.per))
        elif need.name in RUN_NEEDS and not any(run.need == need.name for run in family.runs):
            found.append(Counted(need, "", "system"))
    found += [Ends(NEEDS["end the bus"], bus) for bus in family.buses] or [
        Counted(NEEDS["end the bus"], "", "system")
    ]
    found += [FreeHoles(NEEDS["blank entry"], hole) for hole in family.holes]
    for run in family.runs:
        found.append(OfRun(NEEDS[run.need], run, False))
        more = (*(RUN_PLACES if run.hole else ()), *(RUN_PATHS if run.supported else ()))
        found += [OfRun(NEEDS[name], run, entry) for name, entry in more]
    found += [OfEntry(NEEDS[name], entry) for entry in family.entries for name, _ in RUN_PLACES]
    return tuple(found)


def _of_steps(need: Need, parts: list[str], family: Family) -> list[Source]:
    """The parts a family names for each step; a step without one has the bare need."""
    found: list[Source] = []
    for step in family.steps:
        own = [of for of in parts if of.split(":")[0] == step.key]
        found += [OfStep(need, of, step.key) for of in own or [step.key]]
    return found


@dataclass(frozen=True, slots=True)
class OfStep:
    """Tools or protective gear of one step."""

    need: Need
    of: str
    step: str

    def demands(self, family: Family, site: Site) -> Iterator[Demand]:
        """One need, where the job has the step."""
        if self.step in steps.order(str(site.read("job"))):
            yield demand(self.need.name, self.of, "system", 1, {}, "1 system")

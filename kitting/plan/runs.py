"""Each cable run of a stack as a crew lays it: what lies there, how long, and what ends it."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from kitting.plan.configuration import Configuration
from kitting.plan.expansion import standing
from kitting.plan.family import Family
from kitting.plan.meeting import Entry
from kitting.plan.needs import ENTRY_NEEDS, PATH_NEEDS, RUN_NEEDS
from kitting.plan.site import Asked, Site


@dataclass(frozen=True, slots=True)
class Part:
    """So many of one item along a run."""

    item: str
    name: str
    quantity: int
    """Base units."""
    unit: str


@dataclass(slots=True)
class Wired:
    """One run, or one hole through which several runs go together."""

    of: str
    """As the family names it."""
    place: str
    """"system", "stack 2", "harness, stack 3"."""
    step: str = ""
    """Where its cable is laid; of a shared hole, where it is seated."""
    way: int = 0
    """mm of the way, without what the ends need; 0 where the family does not say."""
    diameter: int = 0
    """Tenths of mm; 0 where it is not known."""
    cables: list[Part] = field(default_factory=list)
    pieces: list[int] = field(default_factory=list)
    """mm of each single piece to cut."""
    ends: list[Part] = field(default_factory=list)
    entries: list[Part] = field(default_factory=list)
    """Glands and what seats and seals them."""
    path: list[Part] = field(default_factory=list)
    """What holds or covers it on its way."""


def runs(family: Family, configuration: Configuration) -> tuple[Wired, ...]:
    """Every run of what will stand, in the order in which the list gives them."""
    found: dict[tuple[str, str], Wired] = {}
    site = configuration.site()
    for entry in standing(family, configuration):
        root, of, place = entry.demand.root
        if root in (*RUN_NEEDS, *ENTRY_NEEDS, *PATH_NEEDS):
            wired = found.setdefault((of, place), Wired(of, place))
            _note(wired, entry, family, site)
    return tuple(one for one in found.values() if one.cables or one.entries)


def _note(wired: Wired, entry: Entry, family: Family, site: Site) -> None:
    root, need = entry.demand.root[0], entry.demand.need
    item = family.items[entry.item]
    part = Part(entry.item, item.name, entry.quantity, item.unit)
    if need in RUN_NEEDS:
        wired.step = entry.step
        wired.way = _measure(entry, "length", site)
        wired.diameter = wired.diameter or _measure(entry, "diameter", site)
        wired.pieces += entry.pieces
        _add(wired.cables, part)
    elif root in RUN_NEEDS:
        _add(wired.ends, part)
    elif root in ENTRY_NEEDS:
        wired.step = wired.step or entry.step
        wired.diameter = wired.diameter or _measure(entry, "diameter", site)
        _add(wired.entries, part)
    else:
        _add(wired.path, part)


def _add(parts: list[Part], part: Part) -> None:
    for at, known in enumerate(parts):
        if known.item == part.item:
            parts[at] = Part(part.item, part.name, known.quantity + part.quantity, part.unit)
            return
    parts.append(part)


def _measure(entry: Entry, name: str, site: Site) -> int:
    """A measure the need carries; 0 where it has none or its answer is still open."""
    value = entry.demand.measures.get(name, 0)
    if isinstance(value, Asked):
        value = site.answers.get(value.axis) or 0
    return value if isinstance(value, int) else 0


def met_by(found: Iterable[Wired], items: Iterable[str]) -> Iterator[Wired]:
    """Those of which a kit brings something: an expansion lays only what is new."""
    brought = set(items)
    for one in found:
        parts = (*one.cables, *one.ends, *one.entries)
        if any(part.item in brought for part in parts):
            yield one

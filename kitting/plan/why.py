"""Why a kit has so many of an item: every part of the quantity with its sum, its rule and the
answers it rests on, in words a fitter accepts. What is not on a kit: `why_not.py`.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Final

from kitting.plan import why_not
from kitting.plan.configuration import Configuration
from kitting.plan.family import Family
from kitting.plan.given import quantity as said
from kitting.plan.kit import Kit
from kitting.plan.lines import Alternative, Line, Reason
from kitting.plan.needs import NEEDS
from kitting.plan.rules import Rule
from kitting.plan.site import Site
from kitting.plan.steps import Step
from kitting.plan.telling import COUNTED, alike, many, places_of, sentence, worded

SPARE: Final = "spare"
"""Need of what is taken besides, by risk."""


@dataclass(frozen=True, slots=True)
class Answer:
    """One answer about the site that a rule rests on."""

    question: str
    answer: str


@dataclass(frozen=True, slots=True)
class Part:
    """One part of a quantity: the same reason at one or more places."""

    quantity: int
    """Base units at each place; 0 where a kit of an earlier day does not say."""
    times: int
    """How often it stands."""
    need: str
    """Of the closed list, or "spare", or "by hand"."""
    of: str
    """Which part of the need; empty where it has none."""
    places: tuple[str, ...]
    rule: str
    way: str
    """How the rule counts, as "table"; empty where the parts list does not name the rule."""
    source: str
    once: bool
    """However often it is needed, it goes along once."""
    rests_on: tuple[Answer, ...]
    by: tuple[str, ...]
    """Codes of the items it comes with."""
    sentence: str


@dataclass(frozen=True, slots=True)
class AtStep:
    """All of one line."""

    step: str
    title: str
    quantity: int
    """Base units."""
    parts: tuple[Part, ...]
    sum: str
    """As "2 x 22 + 3 = 47"; empty where there is one part, or no plain sum."""
    alternatives: tuple[Alternative, ...]
    """Of it, what goes along only because a question is open."""


@dataclass(frozen=True, slots=True)
class Box:
    """A box of the kit that brings some of it."""

    item: str
    """Code of the thing in whose box it lies."""
    name: str
    quantity: int
    """Base units, of all such boxes of the kit."""


@dataclass(frozen=True, slots=True)
class Why:
    """The whole answer for one item."""

    item: str
    name: str
    unit: str
    """piece, mm, ul or mm2"""
    quantity: int
    """Base units on the list, spares included; 0 = it is not on the list."""
    answer: str
    """In one sentence."""
    steps: tuple[AtStep, ...] = ()
    sum: str = ""
    """Of several steps, as "8 + 40 + 1 = 49"."""
    boxes: tuple[Box, ...] = ()
    chain: tuple["Why", ...] = ()
    """The items it comes with, and those that these come with."""
    missing: tuple[str, ...] = ()
    """Why it is not on the list."""

    def every_parent(self) -> tuple["Why", ...]:
        """The items it comes with, what these come with, and so on, each once."""
        found: dict[str, Why] = {}
        for parent in self.chain:
            for why in (parent, *parent.every_parent()):
                found.setdefault(why.item, why)
        return tuple(found.values())

    def as_json(self) -> dict[str, object]:
        """The answer as data."""
        return asdict(self)


def explain(family: Family, configuration: Configuration, kit: Kit, item: str) -> Why:
    """Why a kit that breaks no limit has so many of an item of the parts list, or none."""
    found = of(family, configuration.site(), kit.lines, kit.steps, item)
    return found or absent(family, item, why_not.reasons(family, configuration, item))


def absent(
    family: Family, item: str, reasons: Sequence[str], say: Callable[[str], str] = str
) -> Why:
    """That an item of the parts list is not on a kit, and why."""
    known = family.items[item]
    told = say("{0} ({1}) is not on this list.").format(known.name, item)
    return Why(item, known.name, known.unit, 0, told, missing=tuple(reasons))


def of(
    family: Family,
    site: Site,
    lines: Sequence[Line],
    steps: Iterable[Step],
    item: str,
    say: Callable[[str], str] = str,
) -> Why | None:
    """Why the lines have so many of an item; None where they have none of it.

    lines: of one kit, spares and changes by hand included; steps: those they name, in order; say:
    puts a phrase into the reader's language.
    """
    titles = {step.key: step.title for step in steps}
    return _of(_Read(family, site, lines, titles, say), item, frozenset())


@dataclass(frozen=True, slots=True)
class _Read:
    """What is looked at."""

    family: Family
    site: Site
    lines: Sequence[Line]
    titles: Mapping[str, str]
    say: Callable[[str], str]

    def rule(self, name: str) -> Rule | None:
        return next((rule for rule in self.family.rules if rule.name == name), None)


def _of(read: _Read, item: str, above: frozenset[str]) -> Why | None:
    mine = [line for line in read.lines if line.item == item]
    if not mine:
        return None
    steps = tuple(_at_step(read, line) for line in mine)
    first, total = mine[0], sum(line.quantity for line in mine)
    terms = [said(step.quantity, first.unit) for step in steps]
    added = " + ".join(terms)
    met = above | {item}
    parents = [code for step in steps for part in step.parts for code in part.by]
    chain = (_of(read, code, met) for code in dict.fromkeys(parents) if code not in met)
    return Why(
        item=item,
        name=first.name,
        unit=first.unit,
        quantity=total,
        answer=_answer(read, first, total, steps),
        steps=steps,
        sum=f"{added} = {said(total, first.unit)}" if len(steps) > 1 else "",
        boxes=tuple(_boxes(read, item)),
        chain=tuple(why for why in chain if why is not None),
    )


def _answer(read: _Read, line: Line, total: int, steps: Sequence[AtStep]) -> str:
    parts = [part for step in steps for part in step.parts]
    # A spare's whole reckoning is for its own line; here its record is enough.
    told = "; ".join(p.sentence.split("; ")[0] if p.need == SPARE else p.sentence for p in parts)
    quantity = f"{read.say(said(total, line.unit))} {line.name}"
    return read.say("{0} because {1}.").format(quantity, told)


def _at_step(read: _Read, line: Line) -> AtStep:
    parts = tuple(_parts(read, line))
    return AtStep(
        step=line.step,
        title=read.titles.get(line.step, line.step),
        quantity=line.quantity,
        parts=parts,
        sum=_sum(read, line, parts),
        alternatives=line.alternatives,
    )


def _sum(read: _Read, line: Line, parts: Sequence[Part]) -> str:
    """How the parts add up, where they do."""
    counted = [part for part in parts if not part.once]
    total = sum(part.quantity * part.times for part in counted)
    total += max((part.quantity for part in parts if part.once), default=0)
    if total != line.quantity or (len(parts) == 1 and parts[0].times == 1):
        return ""
    if len(counted) < len(parts):
        once = read.say("once for all of it: {0}").format(said(total, line.unit))
        return "" if len(parts) == 1 else once
    terms = [many(part.times, said(part.quantity, line.unit)) for part in parts]
    return f"{' + '.join(terms)} = {said(total, line.unit)}"


def _parts(read: _Read, line: Line) -> Iterator[Part]:
    for reasons in alike(line.reasons):
        yield _part(read, line, reasons)


def _part(read: _Read, line: Line, reasons: Sequence[Reason]) -> Part:
    first = reasons[0]
    need, _, of = first.need.partition(": ")
    rule = read.rule(first.rule) if need in NEEDS else None
    counted = rule.counting.counted() if rule is not None else ()
    on_list = {one.item for one in read.lines}
    return Part(
        quantity=first.quantity,
        times=len(reasons),
        need=need,
        of=of,
        places=places_of(reasons),
        rule=first.rule,
        way=rule.way if rule is not None else "",
        source=first.source,
        once=rule is not None and rule.once,
        rests_on=tuple(_rests_on(read, rule)) if rule is not None else (),
        by=tuple(dict.fromkeys(c for c in (first.by, *counted) if c in on_list and c != line.item)),
        sentence=sentence(read.titles, line.unit, reasons, read.say),
    )


def _rests_on(read: _Read, rule: Rule) -> Iterator[Answer]:
    """The answers that a rule's condition asks for, as they were given."""
    for condition in rule.when:
        axis, value = read.family.axes.get(condition.name), read.site.answers.get(condition.name)
        if axis is not None and value is not None:
            yield Answer(axis.plain, worded(read.family, condition.name, value))
        elif condition.name in COUNTED and value is not None:
            yield Answer("", read.say(worded(read.family, condition.name, value)))


def _boxes(read: _Read, item: str) -> Iterator[Box]:
    """Boxes of the kit that bring the item, by the parts list."""
    counts: dict[str, int] = {}
    for line in read.lines:
        counts[line.item] = counts.get(line.item, 0) + line.quantity
    for code, count in counts.items():
        known = read.family.items.get(code)
        if known is not None and item in known.carton:
            yield Box(code, known.name, known.carton[item] * count)

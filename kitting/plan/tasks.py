"""What rules tell to do beside what they give: a sentence at a step, once, with its places."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace

from kitting.plan.meeting import Told
from kitting.plan.needs import NEEDS, STANDING


@dataclass(frozen=True, slots=True)
class Task:
    """One thing to do at one step."""

    step: str
    words: str
    """One sentence."""
    need: str
    """With its part, of the first place: "end the bus: main"."""
    rule: str
    place: str
    """Every place it is done at, as "stack 1, stack 2"; "system" for the whole."""


def of(told: Iterable[Told], done: Iterable[Told] = ()) -> tuple[Task, ...]:
    """Each sentence once for its step. `done`: told when what stands was built, not told again."""
    before = {_same(one) for one in done}
    found: dict[tuple[str, str], Task] = {}
    for one in told:
        if NEEDS[one.demand.root[0]].kind == STANDING and _same(one) in before:
            continue
        place, known = one.demand.root[2], found.get((one.step, one.words))
        if known is None:
            need = f"{one.demand.need}: {one.demand.of}" if one.demand.of else one.demand.need
            known = Task(one.step, one.words, need, one.rule.name, place)
        elif place not in known.place.split(", "):
            known = replace(known, place=f"{known.place}, {place}")
        found[one.step, one.words] = known
    return tuple(found.values())


def in_order(found: Iterable[Task], steps: Collection[str]) -> tuple[Task, ...]:
    """By step in the order of the job."""
    placed = {key: place for place, key in enumerate(steps)}
    return tuple(sorted(found, key=lambda task: placed.get(task.step, len(placed))))


def said(words: str, place: str) -> str:
    """A sentence with where it is done.

    >>> said("Switch on the end inside.", "stack 1"), said("Set the address.", "system")
    ('Switch on the end inside (stack 1).', 'Set the address.')
    """
    return words if place == "system" else f"{words.removesuffix('.')} ({place})."


def _same(one: Told) -> tuple[object, ...]:
    demand = one.demand
    return demand.root, demand.need, demand.of, demand.number, one.step, one.words

"""Which stacks a new module joins, and what is told about its charge before it does."""

from typing import Final

from kitting.plan.configuration import Configuration
from kitting.plan.family import Family
from kitting.plan.tasks import Task

RULE: Final = "charge"
STEPS: Final = ("join", "look")
"""Where it is told: before units are joined, else when they are looked over."""


def wanted(family: Family, configuration: Configuration) -> tuple[int, ...]:
    """Numbers of the stacks that a new module joins; none where the family says nothing of it."""
    if family.charge is None:
        return ()
    if configuration.before is not None:
        stood = (*configuration.before.shape, *(0 for _ in configuration.shape))
        pairs = zip(stood, configuration.shape, strict=False)
        return tuple(number for number, (old, new) in enumerate(pairs, 1) if new > old)
    modules = dict(enumerate(configuration.shape, 1))
    return tuple(dict.fromkeys(s for s, level in configuration.swap if level <= modules[s]))


def tasks(family: Family, configuration: Configuration) -> tuple[Task, ...]:
    """The task of matching charges, where a module joins others."""
    stacks = wanted(family, configuration)
    if family.charge is None or not stacks:
        return ()
    known = {step.key for step in family.steps}
    step = next((key for key in STEPS if key in known), STEPS[-1])
    place = ", ".join(f"stack {number}" for number in stacks)
    return (Task(step, family.charge.words(), "place module", RULE, place),)

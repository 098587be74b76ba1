"""The question that a need puts to a person, in plain words: where nobody has said how it is met.

Source: common practice, no published source.
"""

import itertools
from collections import defaultdict
from dataclasses import dataclass
from typing import Final

from kitting.plan import space
from kitting.plan.family import Family
from kitting.plan.meeting import Met, needs
from kitting.plan.needs import NEEDS
from kitting.plan.site import SHAPE
from kitting.plan.steps import JOBS

QUESTIONS: Final = {
    "place module": "Which item is the battery module?",
    "place head": "What stands on top of, or at the end of, each stack?",
    "stand": "What does it stand on, and how is it set level?",
    "fix to wall": "How is it held to the building?",
    "restrain": "How is it held when it is pushed or shaken?",
    "join units": "How is one unit joined to the next?",
    "seal joints": "What keeps water out between the units?",
    "link power": "Which lead carries power from unit to unit?",
    "link data": "Which lead carries data from unit to unit?",
    "tie stacks": "How are neighbouring stacks tied together?",
    "connect stacks": "How are power and data taken from stack to stack?",
    "end the bus": "What ends the data bus?",
    "blank ports": "What closes the ports that stay free?",
    "connect inverter": "How is it joined to the inverter?",
    "run power": "Which power cable is run?",
    "run data": "Which data cable is run?",
    "run earth": "Which earth conductor is run?",
    "bond": "How is it earthed?",
    "enter cable": "How does a cable come in through the wall of the unit?",
    "seal entry": "What keeps water out where a cable comes in?",
    "support cable": "What holds the cable on its way?",
    "enclose cable": "What covers the cable on its way?",
    "blank entry": "What closes the holes that stay free?",
    "protect and isolate": "What protects it, and with what is it switched off?",
    "cover": "Which covers go on?",
    "label": "Which labels go on?",
    "dispense": "With what are sealant and resin put where they belong?",
    "lift": "With what are the units lifted?",
    "clean": "With what is it cleaned before sealing?",
    "tools": "Which tools does it take?",
    "gear": "What protects the people who do it?",
    "cap ports": "When it is taken down: what closes the ports for the road?",
    "pack unit": "When it is taken down: what are the units packed in?",
    "make good": "When it is taken down: what closes the holes that are left?",
    "fasten": "With what is it fastened?",
    "anchor": "What holds it in the wall or floor?",
    "level": "What sets it level?",
    "drill": "What drills the hole for it?",
    "set in resin": "In which resin is it set?",
    "sleeve": "Which sleeve goes around it?",
    "terminate conductor": "How is each conductor ended?",
    "fit in hole": "What seats it in the hole?",
    "back up": "Which board goes behind it?",
    "couple": "What couples two lengths?",
    "secure": "What keeps it in place?",
    "mark": "What marks it?",
}
"""Need -> its question. Complete: a test compares it with the closed list."""
HOW_MANY: Final = {
    "module": "per module",
    "joint": "per joint",
    "link": "per joint",
    "gap": "per gap",
    "run": "per job",
    "hole": "per stack",
    "bus": "per stack",
    "system": "per job",
    "step": "per job",
}
"""What a need is counted by -> what to ask for."""
FOR_ONE: Final = {
    "connect stacks": "per gap",
    "run power": "per metre (a cable) or per job",
    "run data": "per metre (a cable) or per job",
    "run earth": "per metre (a cable) or per job",
    "enter cable": "per entry",
    "seal entry": "per entry",
    "support cable": "per metre",
    "enclose cable": "per metre",
}
"""Needs that are better asked otherwise than by their own measure."""
NOT_WANTED: Final = "not wanted"


def question(need: str, of: str = "") -> str:
    """The question of a need, with the part or step it is about.

    >>> question("bond"), question("tools", "fix")
    ('How is it earthed?', 'Which tools does it take (fix)?')
    """
    words = QUESTIONS.get(need) or f"How is this met: {need}?"
    return f"{words[:-1]} ({of})?" if of else words


def unmet(family: Family) -> list[tuple[str, str]]:
    """Each need of the smallest and of the largest stacks that no rule at all is for, with its
    part, in the order of the trade.

    What hangs on answers or is raised by items is found by `proof.check`.
    """
    lacking: dict[tuple[str, str], None] = {}
    shapes = space.shapes(family)
    for shape, job in itertools.product((shapes[0], shapes[-1]), JOBS):
        site = space.site(family, {SHAPE: shape}, job)
        for demand in needs(family, site, job, Met()):
            if not family.rules_for(demand.need, demand.of):
                lacking[demand.need, demand.of] = None
    places = list(NEEDS)
    return sorted(lacking, key=lambda pair: places.index(pair[0]))


@dataclass(frozen=True, slots=True)
class Question:
    """One need that no row meets."""

    need: str
    steps: tuple[str, ...]
    """Titles of the steps it is open for; empty where it is not asked step by step."""
    words: str
    """The whole question, with what an answer looks like."""


def questions(found: Family) -> tuple[Question, ...]:
    """One question for each need that nothing meets."""
    steps: dict[str, list[str]] = defaultdict(list)
    titles = {step.key: step.title for step in found.steps}
    for need, of in unmet(found):
        steps[need] += [titles[of]] if of in titles else []
    return tuple(_question(need, tuple(titles)) for need, titles in steps.items())


def _question(need: str, steps: tuple[str, ...]) -> Question:
    per = FOR_ONE.get(need) or HOW_MANY.get(NEEDS[need].per, "per stack")
    at = f" Steps: {', '.join(steps)}." if steps else ""
    answer = f"Name the item and how many {per}, or write '{NOT_WANTED}' and why."
    return Question(need, steps, f"{question(need)}{at} {answer}")

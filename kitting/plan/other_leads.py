"""A ready-made lead in the place of a piece that is cut: what the kit would be then.

The list is worked out anew with the lead, so that what the cut piece alone asks for (ferrules and
plugs at its ends) leaves the list with it, and what the run asks for (its gland, its clips) stays.
"""

from collections import Counter
from dataclasses import dataclass, replace
from typing import Any

from kitting.plan import kit as kits
from kitting.plan.configuration import Configuration
from kitting.plan.family import Family
from kitting.plan.given import Counting, Given, Task

Key = tuple[str, str]
"""(item, step) of a line"""


def changes(
    family: Family, configuration: Configuration, cable: str, lead: str
) -> tuple[tuple[Key, int], ...]:
    """Return the lines that change where a lead stands in for a cable, and by how many base units.

    Empty where a limit is then broken, or nothing is given in one piece.
    """
    rules = tuple(
        replace(rule, counting=_WithLead(rule.counting, cable, lead))
        if cable in rule.counting.items()
        else rule
        for rule in family.rules
    )
    after = kits.work_out(replace(family, rules=rules, meeting={}), configuration)
    if after.refused:
        return ()
    now, then = _lines(kits.work_out(family, configuration)), _lines(after)
    keys = sorted({*now, *then})
    return tuple((key, then[key] - now[key]) for key in keys if then[key] != now[key])


def _lines(kit: kits.Kit) -> Counter[Key]:
    found: Counter[Key] = Counter()
    for line in kit.lines:
        found[line.item, line.step] += line.quantity
    return found


@dataclass(frozen=True, slots=True)
class _WithLead:
    """A way of counting whose one piece of a cable is a lead."""

    counting: Counting
    cable: str
    lead: str

    def __getattr__(self, name: str) -> Any:
        return getattr(self.counting, name)

    def items(self) -> tuple[str, ...]:
        """Those of the way, and the lead."""
        return (*self.counting.items(), self.lead)

    def count(self, task: Task) -> list[Given]:
        """The lead, one for each run of one piece."""
        return [self._instead(given) for given in self.counting.count(task)]

    def _instead(self, given: Given) -> Given:
        if given.item != self.cable or len(given.pieces) != 1:
            return given
        return given._replace(item=self.lead, quantity=1, pieces=())

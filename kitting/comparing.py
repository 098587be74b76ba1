"""Two jobs side by side, or a job beside a changed copy of itself. Nothing is stored.

Spares are left out: they follow the firm's record, and would hide what the answers change.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from kitting import families
from kitting.explaining import lines_of
from kitting.models import Kit
from kitting.plan import comparing
from kitting.plan import configuration as configurations
from kitting.plan import kit as plan
from kitting.plan.comparing import Comparison, Side
from kitting.plan.family import Family
from kitting.plan.steps import Step
from kitting.sparing import STEP

KEPT = ("before", "swap")  # of a configuration: what the page does not ask again


def of_kits(one: Kit, other: Kit) -> Comparison:
    """Compare two kits as they are kept, changes by hand included."""
    return comparing.of(_kept(one), _kept(other))


def with_answers(kit: Kit, answered: Mapping[str, Any]) -> Comparison:
    """Compare a kit's answers with others that break no limit, both worked out now.

    answered: as JSON has it; the parts list is that of the kit. Raises ConfigurationError.
    """
    family = families.family_of(kit.edition)
    now = kit.snapshot["configuration"]
    asked = {**answered, **{name: now[name] for name in KEPT if name in now}}
    return comparing.of(_worked_out(family, now), _worked_out(family, asked))


def _kept(kit: Kit) -> Side:
    steps = [Step(step["key"], step["title"], ()) for step in kit.snapshot["steps"]]
    lines = [line for line in lines_of(kit) if line.step != STEP]
    return Side(families.family_of(kit.edition), kit.snapshot["configuration"], lines, steps)


def _worked_out(family: Family, configuration: Mapping[str, Any]) -> Side:
    asked = configurations.parse(dict(configuration), family)
    found = plan.work_out(family, asked)
    return Side(family, asked.as_json(), found.lines, found.steps)

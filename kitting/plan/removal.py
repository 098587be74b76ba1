"""Taking down: what the work takes, and everything that comes back. What is glued, used up or
renewed does not."""

from kitting.plan.configuration import Configuration
from kitting.plan.expansion import Change, standing
from kitting.plan.family import Family
from kitting.plan.items import FamilyItem
from kitting.plan.lines import lines_of
from kitting.plan.meeting import Met


def change(family: Family, configuration: Configuration, met: Met) -> Change:
    """`met`: the needs of taking down, met. What stands is worked out as if it were new."""
    stood = standing(family, configuration)
    back = [entry for entry in stood if comes_back(family.items[entry.item])]
    return Change(tuple(lines_of(family, met.entries)), tuple(lines_of(family, back)))


def comes_back(item: FamilyItem) -> bool:
    """Whether an item can come back: whole pieces and cut lengths that are not renewed."""
    return item.tracking not in ("supply", "tool") and not item.renew and item.unit != "ul"

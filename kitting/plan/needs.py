"""The closed list of what must physically be done at a stack. A need outside it does not exist.

Source: trade practice (no published list); DESIGN of this project, section 3.1.
"""

from dataclasses import dataclass
from typing import Final

STANDING: Final = "standing"
WORK: Final = "work"
REMOVAL: Final = "removal"
RAISED: Final = "raised"


@dataclass(frozen=True, slots=True)
class Need:
    """One kind of job to be done."""

    name: str
    per: str
    """What it is counted by when nothing splits it: module, joint, link, stack, gap, system; or
    run, bus, hole, step where the family's tables of that name raise it; or item."""
    kind: str
    """STANDING: done once and stays; WORK: of every visit; REMOVAL: of taking down; RAISED: by
    items."""
    plain: str
    """What a page says after "for"."""


def _listed() -> dict[str, Need]:
    rows = (
        ("place module", "module", STANDING, "the battery modules themselves"),
        ("place head", "stack", STANDING, "the unit on top of, or at the end of, each stack"),
        ("stand", "stack", STANDING, "standing level on its foot"),
        ("fix to wall", "stack", STANDING, "holding the stack to the building"),
        ("restrain", "stack", STANDING, "holding it when it is pushed or shaken"),
        ("join units", "joint", STANDING, "joining one unit to the next"),
        ("seal joints", "joint", STANDING, "keeping water out between units"),
        ("link power", "link", STANDING, "power from unit to unit"),
        ("link data", "link", STANDING, "data from unit to unit"),
        ("tie stacks", "gap", STANDING, "tying neighbouring stacks together"),
        ("connect stacks", "run", STANDING, "power and data from stack to stack"),
        ("end the bus", "bus", STANDING, "ending the data bus at both ends"),
        ("blank ports", "system", STANDING, "closing ports that stay free"),
        ("connect inverter", "run", STANDING, "joining the stack to the inverter"),
        ("run power", "run", STANDING, "the power cable"),
        ("run data", "run", STANDING, "the data cable"),
        ("run earth", "run", STANDING, "the earth conductor"),
        ("bond", "stack", STANDING, "bonding the metal parts"),
        ("enter cable", "run", STANDING, "bringing the cable in through the wall of the unit"),
        ("seal entry", "run", STANDING, "keeping water out where the cable comes in"),
        ("support cable", "run", STANDING, "holding the cable on its way"),
        ("enclose cable", "run", STANDING, "covering the cable on its way"),
        ("blank entry", "hole", STANDING, "closing holes that stay free"),
        ("protect and isolate", "system", STANDING, "protecting and switching off"),
        ("cover", "stack", STANDING, "the covers"),
        ("label", "system", STANDING, "the labels"),
        ("dispense", "system", STANDING, "getting sealant and resin where they belong"),
        ("lift", "system", WORK, "lifting the units"),
        ("clean", "stack", WORK, "cleaning before sealing"),
        ("tools", "step", WORK, "the tools of the step"),
        ("gear", "step", WORK, "protecting the people who do the step"),
        ("cap ports", "module", REMOVAL, "closing ports for the road"),
        ("pack unit", "module", REMOVAL, "packing the units for the road"),
        ("make good", "stack", REMOVAL, "closing the holes that are left"),
        ("fasten", "item", RAISED, "the fastener it is held with"),
        ("anchor", "item", RAISED, "holding in the wall or floor"),
        ("level", "item", RAISED, "setting it level"),
        ("drill", "item", RAISED, "the hole for it"),
        ("set in resin", "item", RAISED, "setting it in resin"),
        ("sleeve", "item", RAISED, "the sleeve around it"),
        ("terminate conductor", "item", RAISED, "ending each conductor"),
        ("fit in hole", "item", RAISED, "seating it in the hole"),
        ("back up", "item", RAISED, "the board behind it"),
        ("couple", "item", RAISED, "coupling two lengths"),
        ("secure", "item", RAISED, "keeping it in place"),
        ("mark", "item", RAISED, "marking it"),
    )
    return {row[0]: Need(*row) for row in rows}


NEEDS: Final = _listed()
RUN_NEEDS: Final = ("connect stacks", "connect inverter", "run power", "run data", "run earth")
ENTRY_NEEDS: Final = ("enter cable", "seal entry")
PATH_NEEDS: Final = ("support cable", "enclose cable")
MEASURES: Final = ("module", "joint", "link", "stack", "gap", "system")


def arises(need: Need, job: str) -> bool:
    """Whether a need belongs to a job: new, expansion, swap or removal.

    >>> arises(NEEDS["cover"], "removal"), arises(NEEDS["lift"], "removal")
    (False, True)
    """
    if need.kind == WORK:
        return True
    return need.kind == (REMOVAL if job == "removal" else STANDING)

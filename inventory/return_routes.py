"""The route of each kind of return, as data: what is done with it, in order.

After warehouse practice (common practice, no source); what damaged and recalled batteries ask is
named in carriage.py. A step that asks nothing of a thing falls out: packing of what is no battery,
the box of the new one where none was put in its place.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from inventory.models import ReturnKind


@dataclass(frozen=True, slots=True)
class Stop:
    """One step of a route."""

    key: str  # what return_lists.py asks whether it is done
    words: str  # what a person has to do


_CAME = Stop("came", "It stands at the depot")
_CHECKED = Stop("checked", "Somebody looked at it")
_APART = Stop("apart", "It stands apart, at the place for it")
_PACKING = Stop("packing", "A named person decided how it is packed and carried")
_CARTON = Stop("carton", "The box of the new one is kept, to send this one in")
_CLAIM = Stop("claim", "It is claimed")
_APPROVED = Stop("approved", "They gave their number")
_KEPT = Stop("kept", "It was kept as long as they may ask for it")
_TOLD = Stop("told", "The maker said what becomes of it")
_SHELF = Stop("shelf", "Back on its shelf, or gone if it is not usable")
_GONE = Stop("gone", "Sent back, or scrapped")

ROUTES: Final[dict[str, tuple[Stop, ...]]] = {
    ReturnKind.LEFT: (_CAME, _CHECKED, _SHELF),
    ReturnKind.DOWN: (_CAME, _CHECKED, _SHELF),
    ReturnKind.WRONG: (_CAME, _CHECKED, Stop("gone", "Back to the supplier, or on its shelf")),
    ReturnKind.DAMAGED: (_APART, _CARTON, _PACKING, _CLAIM, _APPROVED, _KEPT, _GONE),
    ReturnKind.DEAD: (_APART, _CARTON, _PACKING, _CLAIM, _APPROVED, _KEPT, _GONE),
    ReturnKind.RECALLED: (_APART, _PACKING, _TOLD, _GONE),
}
GRAVE: Final = frozenset({ReturnKind.DAMAGED, ReturnKind.DEAD, ReturnKind.RECALLED})
"""Kinds that a lead judges and that, of a battery, ask for a decision before it is carried."""
VERDICTS: Final = {"as_new": "as new", "usable": "usable", "not_usable": "not usable"}
PACKAGING: Final = {
    "original": "in its own packing",
    "other": "in other packing",
    "none": "without packing",
}

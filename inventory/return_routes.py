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


_CAME = Stop("came", "Bring it to the depot")
_CHECKED = Stop("checked", "Look at it")
_APART = Stop("apart", "Stand it apart, at the place for it")
_PACKING = Stop("packing", "Decide how it is packed and carried: a named person does")
_CARTON = Stop("carton", "Keep the box of the new one, to send this one in")
_CLAIM = Stop("claim", "Claim it")
_APPROVED = Stop("approved", "Get their number for it")
_KEPT = Stop("kept", "Keep it as long as they may ask for it")
_TOLD = Stop("told", "Ask the maker what becomes of it")
_SHELF = Stop("shelf", "Put it on its shelf, or scrap it if it is not usable")
_GONE = Stop("gone", "Send it back, or scrap it")

ROUTES: Final[dict[str, tuple[Stop, ...]]] = {
    ReturnKind.LEFT: (_CAME, _CHECKED, _SHELF),
    ReturnKind.DOWN: (_CAME, _CHECKED, _SHELF),
    ReturnKind.WRONG: (
        _CAME,
        _CHECKED,
        Stop("gone", "Send it back to the supplier, or put it on its shelf"),
    ),
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

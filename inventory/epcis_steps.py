"""In which words of EPCIS 2.0 each of our steps is told to those outside.

Source of the words: GS1 Core Business Vocabulary 2.0, see tables/epcis_words.csv of codes. Of a
step that is not named here there is nothing that EPCIS could tell: it moves nothing, or it is about
what a thing was not ("missing"), while an event of EPCIS says what was seen.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from inventory.models import Place, PlaceKind
from inventory.models.places import MOVABLE, OUTSIDE


@dataclass(frozen=True, slots=True)
class Shape:
    """How a step is told."""

    type: str
    action: str
    step: str
    disposition: str
    into: frozenset[str] = frozenset()  # only what went into such a place; empty: whatever moved
    out_of: frozenset[str] = frozenset()  # only what left such a place
    still: bool = False  # only what stayed where it was

    def fits(self, start: Place | None, to: Place | None) -> bool:
        """Say whether this tells of what went from there to there; None: it stayed."""
        goes = not self.into or (to is not None and to.kind in self.into)
        left = not self.out_of or (start is not None and start.kind in self.out_of)
        return goes and left and not (self.still and to is not None)


_STACK = frozenset({PlaceKind.STACK})
_NO_STACK = frozenset(PlaceKind) - _STACK
_BOXES = frozenset(MOVABLE)
_OURS = frozenset(PlaceKind) - OUTSIDE
_LOADED = frozenset({PlaceKind.VAN, PlaceKind.BAY})  # loose things of a kit have a bay on the van
_OTHERS = frozenset({PlaceKind.SUPPLIER, PlaceKind.CARRIER})
_SCRAP = frozenset({PlaceKind.SCRAP})
_UNEXPLAINED = frozenset({PlaceKind.UNEXPLAINED})
_USED = frozenset({PlaceKind.USED})

_FITTED = Shape("AssociationEvent", "ADD", "installing", "in_progress", into=_STACK)
_TAKEN = Shape("AssociationEvent", "DELETE", "removing", "in_progress", out_of=_STACK)
_BROKEN = Shape("AssociationEvent", "DELETE", "removing", "needs_replacement", out_of=_STACK)
_PACKED = Shape("AggregationEvent", "ADD", "packing", "in_progress", into=_BOXES)
_BOXED = Shape("AggregationEvent", "ADD", "receiving", "in_progress", into=_BOXES)
_SEEN = Shape("AggregationEvent", "DELETE", "unpacking", "in_progress", out_of=_BOXES)
_ON = Shape("AggregationEvent", "ADD", "loading", "in_progress", into=_LOADED)
_OFF = Shape("AggregationEvent", "DELETE", "unloading", "in_progress", out_of=_LOADED | _BOXES)
_SENT = Shape("ObjectEvent", "OBSERVE", "shipping", "returned", into=_OTHERS)
_SCRAPPED = Shape("ObjectEvent", "DELETE", "destroying", "destroyed", into=_SCRAP)


def _looked(
    step: str,
    disposition: str,
    into: frozenset[str] = frozenset(),
    out_of: frozenset[str] = frozenset(),
    still: bool = False,
) -> Shape:
    return Shape("ObjectEvent", "OBSERVE", step, disposition, into, out_of, still)


_STORED = _looked(
    "storing", "in_progress", into=_OURS - _BOXES, out_of=_OURS | {PlaceKind.CUT.value}
)
_PICKED = (_looked("picking", "in_progress"), _PACKED)

STEPS: Final[dict[str, tuple[Shape, ...]]] = {
    "receive": (_looked("receiving", "in_progress"), _BOXED),
    "refuse_box": (_SENT,),
    "put": (_looked("storing", "in_progress"),),
    "put_back": (_looked("storing", "in_progress"),),
    "make_piece": (_STORED, _looked("cycle_counting", "in_progress", out_of=_UNEXPLAINED)),
    "make_bag": (_PACKED, _STORED),
    "open_bag": (_SEEN,),
    "pick": _PICKED,
    "take_over": _PICKED,
    "load": (_ON,),
    "unload": (_OFF,),
    "carry_over": (_OFF, _ON),
    "unbox": (_SEEN,),
    "fit": (_FITTED,),
    "commission": (_FITTED,),
    "find_standing": (_FITTED,),
    "swap": (_FITTED, _BROKEN),
    "use": (_looked("installing", "in_progress", into=_USED),),
    "take_down": (_TAKEN,),
    "bring_back": (_looked("receiving", "returned"),),
    "come_back": (_looked("receiving", "returned"),),
    "check_back": (_STORED, _SCRAPPED, _looked("inspecting", "returned", still=True)),
    "send_back": (_SENT,),
    "scrap_return": (_SCRAPPED,),
    "damaged": (_looked("inspecting", "damaged"),),
    "wrong": (_looked("unpacking", "mismatch_class"),),
    "surplus": (_looked("unpacking", "mismatch_quantity"),),
    "set_aside": (_looked("holding", "unavailable"),),
    "count": (_looked("cycle_counting", "in_progress"),),
    "bring_in": (_FITTED, _looked("cycle_counting", "in_progress", into=_NO_STACK)),
}
RECALLED: Final = _looked("holding", "recalled")
"""What a recall set aside, in whichever step."""
FREED: Final = _looked("inspecting", "available")
"""What nothing keeps set aside any more, in one of the steps FREEING."""
FREEING: Final = frozenset({"release", "notice_free", "notice_end"})
CUT: Final = Shape("TransformationEvent", "", "creating_class_instance", "in_progress")
"""A piece cut off a batch, which has a label of its own from then on."""

"""What a step does to a thing, by where the thing stands: one table, a test per cell.

The way of a thing is pick < load < unbox < fit < commission. A later step that arrives first is
applied and the steps it jumped are marked as not seen; the earlier one, when it comes, moves
nothing and fills the mark.
"""

from enum import StrEnum


class Standing(StrEnum):
    """Where a thing stands, seen from the kit that the event is about."""

    NOWHERE = "nowhere"  # nobody ever received it
    OUTSIDE = "outside"  # with the supplier or carrier
    SHELF = "shelf"  # depot, dock, bin, bay, or a box there
    VAN = "van"  # loose on a van
    PARCEL = "parcel"  # in a parcel or bag of this kit
    OTHER_PARCEL = "other parcel"
    SITE = "site"  # loose at this kit's site
    OTHER_SITE = "other site"
    STACK = "stack"  # fitted at this kit's site
    OTHER_STACK = "other stack"
    GONE = "gone"  # scrapped, used up, cut away, elsewhere, unexplained


class Ruling(StrEnum):
    """What the table says."""

    APPLY = "apply"  # it moves
    FINDING = "finding"  # it moves, and somebody should know
    LATE = "late"  # nothing moves: it is there already, or further on
    DISPUTE = "dispute"  # two claims: nothing moves, a person decides
    WAITING = "waiting"  # nothing moves until somebody receives it


WAY = ("pick", "load", "unbox", "fit", "commission")
_A, _F, _L, _D, _W = (
    Ruling.APPLY,
    Ruling.FINDING,
    Ruling.LATE,
    Ruling.DISPUTE,
    Ruling.WAITING,
)
_COLUMNS = tuple(Standing)
_ROWS: dict[str, tuple[Ruling, ...]] = {
    # nowhere, outside, shelf, van, parcel, other parcel, site, other site, stack, other stack, gone
    "receive": (_A, _A, _L, _L, _L, _L, _L, _L, _L, _L, _F),
    "put": (_F, _F, _A, _A, _F, _F, _F, _F, _D, _D, _F),
    "pick": (_F, _F, _A, _A, _A, _D, _L, _D, _L, _D, _F),
    "load": (_W, _F, _F, _A, _A, _D, _L, _D, _L, _D, _F),
    "unbox": (_W, _F, _F, _A, _A, _D, _L, _D, _L, _D, _F),
    "fit": (_W, _F, _F, _F, _F, _D, _A, _D, _L, _D, _F),
    "commission": (_W, _F, _F, _F, _F, _D, _F, _D, _A, _D, _F),
    "take_down": (_F, _F, _L, _L, _L, _D, _L, _D, _A, _D, _F),
    "find_standing": (_A, _A, _F, _F, _D, _D, _F, _D, _L, _D, _F),
    "bring_back": (_F, _F, _L, _A, _A, _F, _A, _F, _F, _D, _F),
}
TABLE: dict[tuple[str, Standing], Ruling] = {
    (step, column): ruling
    for step, rulings in _ROWS.items()
    for column, ruling in zip(_COLUMNS, rulings, strict=True)
}
_REACHED = {
    Standing.SHELF: 0,
    Standing.VAN: 2,
    Standing.PARCEL: 1,
    Standing.SITE: 3,
    Standing.STACK: 4,
}


def ruling(step: str, standing: Standing) -> Ruling:
    """Return what this step does to a thing that stands there. Raises KeyError for no such step."""
    return TABLE[step, standing]


def jumped(step: str, standing: Standing, *, on_van: bool = False) -> tuple[str, ...]:
    """Return the steps that should have come before `step` and, by the standing, have not.

    on_van: the parcel it is in stands on a van, so loading was seen.
    """
    if step not in WAY:
        return ()
    reached = _REACHED.get(standing, 0)
    if standing is Standing.PARCEL and on_van:
        reached = 2
    # A thing loose on a van belongs to its standing stock: nobody packs or loads it for the kit.
    return WAY[reached : WAY.index(step)]

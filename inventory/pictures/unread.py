"""Labels that were seen on a picture of many and not read: where they are, so that somebody scans
them singly. What is left of a label that was read, words, and what no print fills are none of them.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from inventory.pictures.changes import changes
from inventory.pictures.hit import LINEAR, Hit
from inventory.pictures.locating import Spot, edges, spots
from inventory.pictures.preparing import Grey

LOOKS: Final = ((4, 1), (4, 5), (16, 5))
"""Without a bridge first, so that labels close to each other have a place each."""
MARGIN: Final = 0.12  # of a code's longer side: its quiet zone, and what paper is round that
BARS: Final = 0.48
"""Of a line code's longer side, from edge to edge: a decoder's box may be a few px high, at the
upper or the lower end of the bars, and paper is round them."""
LOW: Final = 0.4  # of the shorter side of a code that was read beside it: words of its label
NARROWEST: Final = 24  # px, the shorter side of a code: a rim is 8 to 16
EDGE: Final = 8  # px of the picture's edge: what reaches into it is not wholly on the photo
FILLED: Final = 1.15
"""How strong the edges are within a label: 1.19 and more over 23 walls, a carton's clouds up to 0.6
(27 Nov 2026)."""


@dataclass(frozen=True, slots=True)
class Unread:
    """A place that looks like a label's code."""

    box: tuple[int, int, int, int]  # x, y, width, height in px, quiet zone included
    kind: str  # `bars` or `square`, by its changes from dark to light

    def as_json(self) -> dict[str, object]:
        """{"box": [x, y, width, height], "kind": "bars" or "square"}."""
        return {"box": list(self.box), "kind": self.kind}


def unread(grey: Grey, hits: Sequence[Hit]) -> list[Unread]:
    """The places of a picture that look like codes and were not read, from top to bottom."""
    told = places(grey, hits)
    return besides([Unread((s.x, s.y, s.width, s.height), told[s]) for s in told], hits)


def places(grey: Grey, hits: Sequence[Hit]) -> dict[Spot, str]:
    """The same as spots with their kind, one for each label, though it lies close to another."""
    fine = edges(grey, LOOKS[0][0])
    told: dict[Spot, str] = {}
    for spot in spots(grey, LOOKS, [_ground(hit) for hit in hits]):
        if any(_same(spot, other) for other in told) or not _whole(spot, grey):
            continue
        kind = _kind(spot, grey)
        if kind and fine.filled(spot) >= FILLED and not any(_words(spot, hit) for hit in hits):
            told[spot] = kind
    return told


def besides(places: Iterable[Unread], hits: Sequence[Hit]) -> list[Unread]:
    """The places whose middle is not on the ground of a code that was read, from top to bottom."""
    grounds = [_ground(hit) for hit in hits]
    left = [one for one in places if not any(ground.holds(*_middle(one.box)) for ground in grounds)]
    return sorted(left, key=lambda one: (one.box[1], one.box[0]))


def _ground(hit: Hit) -> Spot:
    """The code that was read with what belongs to it."""
    x, y, width, height = hit.box
    longer = max(width, height)
    bars = BARS * longer if hit.symbology in LINEAR else 0.0
    wide, high = (
        round(max(side / 2 + MARGIN * longer, bars - side / 2)) for side in (width, height)
    )
    left, top = max(0, x + width // 2 - wide), max(0, y + height // 2 - high)
    return Spot(left, top, x + width // 2 + wide - left, y + height // 2 + high - top)


def _whole(spot: Spot, grey: Grey) -> bool:
    """Whether it is as wide as a code, and the picture's edge does not cut it."""
    x, y, wide, high = spot.core
    height, width = grey.shape
    inside = x >= EDGE and y >= EDGE and x + wide <= width - EDGE and y + high <= height - EDGE
    return inside and min(wide, high) >= NARROWEST


def _same(spot: Spot, other: Spot) -> bool:
    """Whether one of them holds the middle of the other: a label and a piece of it, or many."""
    one, two = (_middle((s.x, s.y, s.width, s.height)) for s in (spot, other))
    return spot.holds(*two) or other.holds(*one)


def _middle(box: tuple[int, int, int, int]) -> tuple[float, float]:
    return box[0] + box[2] / 2, box[1] + box[3] / 2


def _kind(spot: Spot, grey: Grey) -> str:
    """By its changes from dark to light; empty where they are those of neither."""
    x, y, width, height = spot.core
    found = changes(grey[y : y + height, x : x + width])
    if found.like_bars:
        return "bars"
    return "square" if found.like_square else ""


def _words(spot: Spot, hit: Hit) -> bool:
    """Whether it is close to a code that was read, and too low to be another one beside it."""
    x, y, width, height = hit.box
    longer = max(width, height)
    label = Spot(x - longer, y - longer, width + 2 * longer, height + 2 * longer)
    middle = _middle((spot.x, spot.y, spot.width, spot.height))
    return min(spot.core[2:]) < LOW * min(width, height) and label.holds(*middle)

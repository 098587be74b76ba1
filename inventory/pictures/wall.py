"""Reading every label of a shelf or a pallet: the whole picture first, then each place not read yet.

A wall keeps its pixels: a label of sixty is near the limit as it is. Whatever was located and gave
no text is cut out, turned, enlarged and cleared of blur; a line code read so needs two sightings,
because a clearing makes edges too (of single sightings one in ninety was wrong, two that agreed
never were; seeds 1 and 2, 26 Nov 2026). Square codes correct themselves.
"""

import time
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np

from inventory.pictures import decoders, preparing, restoring
from inventory.pictures.hit import LINEAR, Hit
from inventory.pictures.locating import Spot, spots
from inventory.pictures.preparing import Grey, Prepared
from inventory.pictures.restoring import Close, Way

PIXELS: Final = 16_000_000
"""A larger picture is made this small: 60 labels need 12 million px, phones give up to 200."""
SMALL: Final = 4_000_000
"""Only a picture of at most so many px is doubled whole; in others each place is enlarged."""
BUDGET: Final = 5.0
"""CPU seconds after which no further place is looked at."""
SIGHTINGS: Final = 2
"""How often a line code must be seen in the same place by different clearings."""
COVERED: Final = 0.35
"""A place is read when a code takes up this share of its longer side."""

WHOLE: Final[tuple[tuple[str, Callable[[Grey], Prepared], int], ...]] = (
    ("wall", preparing.raw, PIXELS),
    ("wall sharpened", preparing.sharpened, PIXELS),
    ("wall doubled", preparing.doubled, SMALL),
)
LAST: Final = "wall places"
"""The step after which nothing more of a wall comes."""


@dataclass(slots=True)
class _Place:
    """A spot not read yet, and what was seen in it."""

    spot: Spot
    close: Close
    seen: Counter[str] = field(default_factory=Counter)
    tried: set[str] = field(default_factory=set)


def read(grey: Grey) -> Iterator[tuple[str, list[Hit]]]:
    """Each step's name and its hits, boxes in px of `grey`; the same hit may come again.

    Ends after BUDGET seconds of CPU time at the latest, between two places.
    """
    begun = time.process_time()
    small = preparing.shrunk(grey, PIXELS)
    found: list[Hit] = []
    for name, prepare, most in WHOLE:
        if small.pixels.size <= most:
            hits = decoders.zxing(prepare(small.pixels))
            found += hits
            yield name, _enlarged(hits, small)
    unread = [spot for spot in spots(small.pixels) if not any(_covers(hit, spot) for hit in found)]
    yield LAST, _enlarged(_places(small.pixels, unread, begun + BUDGET), small)


def _enlarged(hits: Iterable[Hit], small: Prepared) -> list[Hit]:
    """Boxes in px of the picture before it was made smaller."""
    times = float(small.back[0, 0])
    return [replace(hit, box=tuple(round(side * times) for side in hit.box)) for hit in hits]


def _covers(hit: Hit, spot: Spot) -> bool:
    x, y, width, height = hit.box
    large = max(width, height) >= COVERED * max(spot.width, spot.height)
    return large and spot.holds(x + width / 2, y + height / 2)


def _places(grey: Grey, unread: list[Spot], until: float) -> Iterator[Hit]:
    """The hits of each place. The way that read most so far is tried first: one hand, one lens."""
    places = [_Place(spot, restoring.closer(spot.crop(grey))) for spot in unread]
    worked: Counter[str] = Counter()
    # Round by round, so that no place is left out for the time that a hopeless one takes.
    for _ in range(max(len(restoring.LINES), len(restoring.SQUARES))):
        for place in list(places):
            if time.process_time() > until:
                return
            way = _next(place, worked)
            if way is None:
                continue
            hits = _look(place, way)
            if hits:
                worked[way.name] += 1
                yield from hits
                places.remove(place)


def _next(place: _Place, worked: Counter[str]) -> Way | None:
    ways = restoring.LINES if place.close.lined else restoring.SQUARES
    left = [way for way in ways if way.name not in place.tried]
    return max(left, key=lambda way: worked[way.name], default=None)


def _look(place: _Place, way: Way) -> list[Hit]:
    """What counts in the place after this clearing, in px of the wall."""
    place.tried.add(way.name)
    picture = restoring.restored(place.close, way)
    back = picture.back + np.array([[0, 0, place.spot.x], [0, 0, place.spot.y]])
    hits = []
    for hit in decoders.zxing(Prepared(picture.pixels, back)):
        place.seen[hit.text] += 1
        if hit.symbology not in LINEAR or place.seen[hit.text] >= SIGHTINGS:
            hits.append(hit)
    return hits

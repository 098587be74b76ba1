"""Reading every label of a shelf or pallet: the whole picture first, then each place not read yet.

A wall keeps its pixels: a label of sixty is near the limit as it is. Whatever was located and gave
no text is cut out; what has bars is fitted as Code 128 first, see inventory.pictures.fitting. The
rest is turned, enlarged and cleared of blur; what a few clearings leave is fitted as a square code,
see inventory.pictures.squares. What looks like a label then, though it may lie close to one that is
read, is fitted as Code 128 with all that takes. Clearing makes edges too, so a line code read thus
must be seen twice, more often than anything else there, and in both halves of its bars (over 12
walls 9 of 51 texts seen once were wrong, 1 of 407 that held all this but for the others; 26 Nov
2026). Square codes correct themselves.
"""

import time
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field, replace
from itertools import takewhile
from typing import Final

import numpy as np

from inventory.pictures import decoders, fitting, preparing, restoring, squares, straightening
from inventory.pictures import unread as labels
from inventory.pictures.hit import LINEAR, Hit
from inventory.pictures.locating import Spot, spots
from inventory.pictures.preparing import Grey, Prepared
from inventory.pictures.restoring import Close, Way

PIXELS: Final = 16_000_000
"""A larger picture is made this small: 60 labels need 12 million px, phones give up to 200."""
SMALL: Final = 4_000_000
"""Only a picture of at most so many px is doubled whole; in others each place is enlarged."""
BUDGET: Final = 14.0
"""CPU seconds after which no further place is looked at."""
PATIENCE: Final = 24.0
"""The same by the clock: on a busy machine what was read is told before the caller gives up."""
SIGHTINGS: Final = 2
"""How often a line code must be seen in a place, beyond all other line codes seen there."""
COVERED: Final = 0.35
"""A place is read when a code takes up this share of its longer side."""
LONG: Final = 1.8  # times as long as wide: a line code with the paper round it
EARLY: Final = 4
"""Rounds of clearing before square codes are fitted, which takes as long as five clearings."""
LEARNT: Final = 2
"""Square codes of each symbology that are fitted though they are read."""
DRAWN, BAND, WHITE = 3, 40, 10
"""A fitted code is drawn with so many px a module, so high, so many modules of white about it."""

WHOLE: Final[tuple[tuple[str, Callable[[Grey], Prepared], int], ...]] = (
    ("wall", preparing.raw, PIXELS),
    ("wall sharpened", preparing.sharpened, PIXELS),
    ("wall doubled", preparing.doubled, SMALL),
)
PLACE: Final = "wall place"
LAST: Final = "wall places"
"""The step after which nothing more of a wall comes."""


@dataclass(slots=True)
class _Place:
    """A spot not read yet, and what was seen in it."""

    spot: Spot
    close: Close
    seen: Counter[str] = field(default_factory=Counter)
    tried: set[str] = field(default_factory=set)

    @property
    def long(self) -> bool:
        """Whether no square code fills it."""
        wide, high = self.spot.core[2:]
        return max(wide, high) > LONG * min(wide, high)


@dataclass(slots=True)
class SoFar:
    """How far the reading of a wall's places has come."""

    round: int = 0  # each goes once over the places that are left; 0 before the first
    at: int = 0  # the place looked at last, from 1
    of: int = 0  # places of this round


def read(
    grey: Grey, patience: float | None = None, so_far: SoFar | None = None
) -> Iterator[tuple[str, list[Hit]]]:
    """Each step's name and its hits, boxes in px of `grey`; the same hit may come again.

    so_far: kept up to date; PLACE comes then after each look at a place, with what it read.
    Ends after BUDGET seconds of CPU time or so many by the clock (PATIENCE), between two places.
    """
    begun = time.process_time(), time.monotonic()
    clock = PATIENCE if patience is None else patience

    def over() -> bool:
        spent, waited = time.process_time() - begun[0], time.monotonic() - begun[1]
        return spent > BUDGET or waited > clock

    small = preparing.shrunk(grey, PIXELS)
    found: list[Hit] = []
    for name, prepare, most in WHOLE:
        if small.pixels.size <= most:
            hits = decoders.zxing(prepare(small.pixels))
            found += hits
            yield name, _enlarged(hits, small)
    places = _Places(small.pixels, found, over, so_far or SoFar())
    for hits in places.hits():
        if so_far is not None:
            yield PLACE, _enlarged(hits, small)
    yield LAST, _enlarged(places.read, small)


def _enlarged(hits: list[Hit], small: Prepared) -> list[Hit]:
    """Boxes in px of the picture before it was made smaller."""
    times = float(small.back[0, 0])
    boxes = [[round(side * times) for side in hit.box] for hit in hits]
    return [replace(hit, box=(x, y, w, h)) for hit, (x, y, w, h) in zip(hits, boxes, strict=True)]


def _covers(hit: Hit, spot: Spot) -> bool:
    x, y, width, height = hit.box
    large = max(width, height) >= COVERED * max(spot.width, spot.height)
    return large and spot.holds(x + width / 2, y + height / 2)


class _Places:
    """The places not read yet, by turns in every way there is, and what their codes share."""

    def __init__(
        self, grey: Grey, found: list[Hit], over: Callable[[], bool], so_far: SoFar
    ) -> None:
        self.grey = grey
        self.found = found  # in the whole picture
        self.over = over
        self.so_far = so_far
        self.read: list[Hit] = []
        self.left: list[_Place] = []
        self._add(spots(grey))
        self.cleared = defaultdict[str, list[Spot]](list)  # where square codes were read
        self.worked = Counter[str]()
        self.hand = squares.Hand()

    def hits(self) -> Iterator[list[Hit]]:
        """What each look gave: bars are fitted, places cleared a few times, squares fitted, then
        what takes longer."""
        yield from self._each(self._bars, [p for p in self.left if p.close.striped])
        for _ in range(EARLY):
            yield from self._each(self._clear, list(self.left))
        if self._squares():
            self._learn()
        yield from self._each(self._known_grid, self._squares())
        yield from self._each(self._faint_bars, [p for p in self._labels() if p.close.striped])
        # Round by round, so that no place is left out for the time that a hopeless one takes.
        for _ in range(max(len(restoring.LINES), len(restoring.SQUARES))):
            yield from self._each(self._clear, list(self.left))
        # What is long is no square code, and to see that takes seconds.
        yield from self._each(self._grid, [place for place in self._squares() if not place.long])

    def _add(self, seen: Iterable[Spot]) -> None:
        """Take up the places that are not read and not known yet."""
        self.left += [
            _Place(spot, restoring.closer(spot.crop(self.grey)))
            for spot in takewhile(lambda _: not self.over(), seen)
            if not any(spot.like(place.spot) for place in self.left)
            and not any(_covers(hit, spot) for hit in self.found)
            and not any(_covers(hit, spot) for hit in self.read)
        ]

    def _labels(self) -> list[_Place]:
        """The places of labels, also of those taken for one with neighbours that are read."""
        told = {} if self.over() else labels.places(self.grey, self.found + self.read)
        self._add(told)
        return [p for p in self.left if any(p.spot.like(spot) for spot in told)]

    def _squares(self) -> list[_Place]:
        return [place for place in self.left if not place.close.lined]

    def _learn(self) -> None:
        """Fit some codes that are read already: what they share makes the others' fit quick."""
        for where in self.cleared.values():
            for spot in where[:LEARNT]:
                if not self.over():
                    squares.read(spot.crop(self.grey), self.hand)

    def _each(
        self, look: Callable[[_Place], list[Hit]], places: list[_Place]
    ) -> Iterator[list[Hit]]:
        self.so_far.round += bool(places)
        for at, place in enumerate(places, 1):
            if self.over():
                return
            self.so_far.at, self.so_far.of = at, len(places)
            covered = any(_covers(hit, place.spot) for hit in self.read)
            hits = [] if covered else look(place)
            if covered or hits:
                self.left.remove(place)
            self.read += hits
            yield hits

    def _faint_bars(self, place: _Place) -> list[Hit]:
        """The same where glare or blur may have some symbols mistaken, which takes longer."""
        return self._bars(place, doubting=True)

    def _bars(self, place: _Place, *, doubting: bool = False) -> list[Hit]:
        """The Code 128 that fits the place, decoded from its clean bars; in px of the wall."""
        upright = preparing.turned(place.spot.crop(self.grey), place.close.turn)
        line = straightening.across(upright.pixels)
        if line is None:
            return []
        high = line.bottom - line.top
        if (fit := fitting.fitted(line.lines, high=high, doubting=doubting)) is None:
            return []
        bars = np.pad(fit.modules, WHITE)
        clean = np.where(np.kron(np.tile(bars, (BAND, 1)), np.ones((1, DRAWN))) > 0, 0, 255)
        module = (fit.end - fit.begin) / len(fit.modules)
        flat = np.array([[module / DRAWN, 0], [0, (line.bottom - line.top) / BAND]])
        corner = (fit.begin - WHITE * module, line.top)
        back = np.column_stack(
            [upright.back[:, :2] @ flat, upright.back[:, :2] @ corner + upright.back[:, 2]]
        )
        picture = Prepared(clean.astype(np.uint8), back, one=True)
        return [_moved(hit, place.spot) for hit in decoders.zxing_lines(picture)]

    def _grid(self, place: _Place) -> list[Hit]:
        """The square code that fits the place, in px of the wall."""
        hits = squares.read(place.spot.crop(self.grey), self.hand)
        return [_moved(hit, place.spot) for hit in hits]

    def _known_grid(self, place: _Place) -> list[Hit]:
        """The same of the kinds and sizes read so far."""
        hits = squares.read(place.spot.crop(self.grey), self.hand, known=True)
        return [_moved(hit, place.spot) for hit in hits]

    def _clear(self, place: _Place) -> list[Hit]:
        """What counts after the clearing that read most so far and was not tried here: in px of
        the wall. One hand, one lens."""
        ways = restoring.LINES if place.close.lined else restoring.SQUARES
        left = [way for way in ways if way.name not in place.tried]
        way = max(left, key=lambda way: self.worked[way.name], default=None)
        hits = _look(place, way) if way else []
        if way and hits:
            self.worked[way.name] += 1
            for hit in hits:
                if hit.symbology not in LINEAR:
                    self.cleared[hit.symbology].append(place.spot)
        return hits


def _moved(hit: Hit, spot: Spot) -> Hit:
    """A hit of a place in px of the wall; what was fitted is sure."""
    return replace(hit, box=(spot.x + hit.box[0], spot.y + hit.box[1], *hit.box[2:]), sure=True)


def _look(place: _Place, way: Way) -> list[Hit]:
    """What counts in the place after this clearing, in px of the wall."""
    place.tried.add(way.name)
    picture = restoring.restored(place.close, way)
    hits = []
    for hit in decoders.zxing(preparing.raw(picture.pixels)):
        if hit.symbology in LINEAR and not _sure(place, picture.pixels, hit):
            continue
        hits.append(replace(hit, box=_there(hit.box, picture, place.spot), sure=True))
    return hits


def _sure(place: _Place, pixels: Grey, hit: Hit) -> bool:
    """Whether a line code was seen often enough, and in either half of its bars by itself.

    What looks like bars in a square code or in print differs from its upper to its lower half.
    """
    place.seen[hit.text] += 1
    others = place.seen.total() - place.seen[hit.text]
    if place.seen[hit.text] < SIGHTINGS + others:
        return False
    x, y, width, height = hit.box
    if width >= height:
        halves = (pixels[: y + height // 2], pixels[y + height // 2 :])
    else:
        halves = (pixels[:, : x + width // 2], pixels[:, x + width // 2 :])
    return all(
        any(hit.text == half.text for half in decoders.zxing(preparing.raw(part)))
        for part in map(np.ascontiguousarray, halves)
    )


def _there(
    box: tuple[int, int, int, int], picture: Prepared, spot: Spot
) -> tuple[int, int, int, int]:
    """A box of the enlarged place in px of the wall."""
    x, y, width, height = box
    corners = np.array([[x, y], [x + width, y], [x + width, y + height], [x, y + height]], float)
    there = corners @ picture.back[:, :2].T + picture.back[:, 2] + (spot.x, spot.y)
    left, top = np.floor(there.min(axis=0)).astype(int).tolist()
    right, bottom = np.ceil(there.max(axis=0)).astype(int).tolist()
    return left, top, right - left, bottom - top

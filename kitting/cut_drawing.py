"""A stick and its cuts as a bar. Widths in px of a drawing that grows with the page."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate

WIDTH = 640  # of the longest bar
TAIL = 0.5  # share of what is cut that is drawn of a longer rest: a reel is never drawn whole
SIGN = 32  # least width of a cut that bears its number


@dataclass(frozen=True, slots=True)
class Cut:
    """One piece on a bar."""

    number: int  # from 1, as the list beside it counts
    x: float
    width: float

    @property
    def told(self) -> bool:
        """Whether its number finds room."""
        return self.width >= SIGN

    @property
    def middle(self) -> float:
        """Where its number stands."""
        return self.x + self.width / 2


@dataclass(frozen=True, slots=True)
class Bar:
    """One stick."""

    cuts: tuple[Cut, ...]
    end: float  # of the last cut
    width: float  # of all that is drawn
    broken: bool  # the rest is longer than it is drawn

    @property
    def rest(self) -> float:
        """Width of what is left."""
        return self.width - self.end


def bars(sticks: Sequence[tuple[int, Sequence[int]]]) -> list[Bar]:
    """Draw sticks to one scale. sticks: mm of each and mm of the pieces cut from it, together no
    more than it has.

    >>> [bar.width for bar in bars([(4000, [1000, 2000]), (100_000, [3200])])]
    [640.0, 640.0]
    """
    shown = [min(room, round(sum(cut) * (1 + TAIL))) for room, cut in sticks]
    scale = WIDTH / max(shown, default=1)
    found = []
    for (room, pieces), mm in zip(sticks, shown, strict=True):
        ends = list(accumulate(pieces))
        cuts = [
            Cut(number, (end - piece) * scale, piece * scale)
            for number, (piece, end) in enumerate(zip(pieces, ends, strict=True), 1)
        ]
        found.append(Bar(tuple(cuts), ends[-1] * scale, mm * scale, mm < room))
    return found

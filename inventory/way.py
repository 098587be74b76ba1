"""The way of one thing as a drawing: a lane for each place, a step for each move. Lengths in px."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.utils.timezone import localtime

from inventory.links import Link

LANE, STEP = 48, 76  # height of a lane with its name above it, width of a move
LEFT = 12  # where the oldest move begins
SIGNS = 30  # characters of a name: it stands still while the way is drawn along below it
MOST = 14  # moves that are drawn: the newest
FOOT = 68  # room for day and time below


@dataclass(frozen=True, slots=True)
class Lane:
    """One place."""

    name: str  # cut to what fits
    whole: str
    y: int


@dataclass(frozen=True, slots=True)
class Stop:
    """One move: when the thing came to a place."""

    x: int
    y: int
    when: datetime
    day: bool  # the first of its day, or the newest: the day is written
    told: str


@dataclass(frozen=True, slots=True)
class Way:
    """A drawing of lanes, stops and the line through them."""

    width: int
    height: int
    lanes: tuple[Lane, ...]
    stops: tuple[Stop, ...]
    line: str  # an SVG path
    left_out: int  # older moves that are not drawn
    left: int = LEFT
    foot: int = FOOT


def drawn(links: Sequence[Link]) -> Way | None:
    """Return the way that links tell, None where nothing moved or what moved is many things."""
    moves = [link for link in links if link.to and not link.undone and link.step != "undo"]
    shown = moves[-MOST:]
    if not shown:
        return None
    names: dict[str, str] = {}  # of places by their codes, in the order in which they were come to
    for link in shown:
        names |= {link.start_code: link.start, link.to_code: link.to}
    names.pop("", None)
    heights = {code: LANE * (number + 1) for number, code in enumerate(names)}
    stops, day, here = [], None, shown[0].start_code
    path = f"M{LEFT} {heights[here]}" if here else ""
    x = LEFT + STEP // 2
    for link in shown:
        y = heights[link.to_code]
        if link.inside and link.start_code not in ("", here):
            # It lay in a box, and the box stood there.
            path += f"H{x - STEP // 2}V{heights[link.start_code]}"
        path += f"H{x}V{y}" if path else f"M{x} {y}"
        told = f"{link.start or 'nowhere'} to {link.to}: {link.sentence}"
        # As the page writes it: by the clock on the wall.
        today = localtime(link.device_time).date()
        dated = today != day or link is shown[-1]
        stops.append(Stop(x, y, link.device_time, dated, told))
        day, here = today, link.to_code
        x += STEP
    path += f"H{x}"
    height = LANE * len(heights) + FOOT
    lanes = tuple(Lane(_cut(name), name, heights[code]) for code, name in names.items())
    return Way(x, height, lanes, tuple(stops), path, len(moves) - len(shown))


def _cut(name: str) -> str:
    return name if len(name) <= SIGNS else f"{name[: SIGNS - 1]}…"

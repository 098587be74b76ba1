"""The stack as a drawing to scale: outlined when needed, hatched on the van, filled when seen.

Never colour alone: each state has its own ground and its own word in the legend, and what is fitted
or in trouble has a mark besides.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace

from inventory.models import Tracking
from kitting import families, starting
from kitting.models import AsBuilt, JobKind, Kit, Site
from kitting.plan import configuration as configurations
from kitting.plan import layout
from kitting.plan.configuration import Configuration
from kitting.plan.family import Family
from kitting.plan.layout import Box
from kitting.queries import stands_at
from kitting.snapshot import STANDING, positions
from kitting.tallies import Progress

MARGIN = 60  # mm around the stacks
HEADROOM = 100  # mm above a stack for its measures
FOOTROOM = 150  # mm below all for the bar that gives the scale
BAR = 500  # mm that the bar stands for
LETTER = 31  # mm that a letter of a measure takes at most, on the average of a line
PAPER = (180, 200)  # mm of a printed page that the drawing may take
SCALES = (10, 15, 20, 25, 50, 100)
ROOM = 320  # mm of width that a place with the end of a serial takes
NAMES = {
    "unit": "Module",
    "head": "Head",
    "base": "Foot",
    "cap": "Cover",
    "lead": "Lead",
    "bracket": "Bracket",
}
OUTLINES = ("unit", "head", "base", "cap")  # drawn to scale; the rest are signs
WORDS = {
    "planned": "planned",
    "needed": "needed",
    "loaded": "on the van",
    "seen": "seen at the site",
    "fitted": "fitted",
    "trouble": "missing or damaged",
    "over": "beyond a limit",
}
OF_SITE = {"needed": "not entered", "fitted": "stands there"}  # where only the record is drawn
OF_REMOVAL = {"needed": "taken down", "fitted": "stands there"}


@dataclass(frozen=True, slots=True)
class Shape:
    """One outline. All measures in mm, y downwards from the top of the drawing."""

    x: int
    y: int
    w: int
    h: int
    kind: str  # unit, head, base, cap, lead, bracket
    state: str  # one of WORDS
    position: str  # "1/3" for what stands at a place of the plan, else ""
    text: str  # short words in it: place, last characters of the serial
    told: str  # for a screen reader

    @property
    def middle(self) -> int:
        """Where its text is centred, mm."""
        return self.x + self.w // 2

    @property
    def line(self) -> int:
        """Base line of its text, mm."""
        return self.y + self.h // 2 + 22

    @property
    def tick(self) -> str:
        """The path of a tick in its right upper corner."""
        x, y = self.x + self.w - 90, self.y + min(self.h // 2, 60)
        return f"M{x} {y}l22 22 44-48"

    @property
    def cross(self) -> str:
        """The path of a cross over the whole."""
        x, y, w, h = self.x, self.y, self.w, self.h
        return f"M{x} {y}l{w} {h}M{x + w} {y}l{-w} {h}"


@dataclass(frozen=True, slots=True)
class Caption:
    """Measures of one stack, written above it; x and base line in mm."""

    x: int
    y: int
    text: str


@dataclass(frozen=True, slots=True)
class Drawing:
    """What the template draws."""

    key: str  # unlike that of any other drawing on the page
    width: int  # mm
    height: int  # mm
    shapes: tuple[Shape, ...]
    captions: tuple[Caption, ...]
    title: str
    told: str  # the whole in one sentence
    states: tuple[tuple[str, str], ...]  # (state, word) of those that occur

    @property
    def scale(self) -> int:
        """Of the print: 20 is one to twenty; the largest at which it fits on a page."""
        fits = (n for n in SCALES if self.width <= PAPER[0] * n and self.height <= PAPER[1] * n)
        return next(fits, SCALES[-1])

    @property
    def paper(self) -> tuple[float, float]:
        """Width and height of the print, mm."""
        return self.width / self.scale, self.height / self.scale

    @property
    def bar(self) -> tuple[int, int, int]:
        """Left end and height of the bar that gives the scale, and its length. mm."""
        return MARGIN, self.height - 40, BAR


def drawing_of(kit: Kit, progress: Progress) -> Drawing | None:
    """Draw a kit's stacks as planned; None where the edition gives no outline."""
    family = families.family_of(kit.edition)
    asked = configurations.parse(dict(kit.snapshot["configuration"]), family)
    boxes = _moved(layout.boxes(family, asked))
    if not boxes:
        return None
    places = {(p.stack, p.level, p.role) for p in positions(kit)}
    # The head that still stands where a module will come is no module that is fitted.
    rows = stands_at(kit.job.site.place)
    stands = {(r.stack, r.level): r for r in rows if (r.stack, r.level, r.role) in places}
    states = _states(boxes, places, progress, stands, stood=kit.job.kind != JobKind.NEW)
    words = WORDS | (OF_REMOVAL if kit.job.kind == JobKind.REMOVAL else {})
    shapes = tuple(
        _shape(
            box,
            states[box.key],
            (box.stack, box.level, box.kind) in places,
            stands.get((box.stack, box.level)),
            words,
        )
        for box in boxes
    )
    return _drawn(family, boxes, shapes, "stack", f"The stack of {kit.job.code}", words)


def drawing_of_plan(
    family: Family,
    configuration: Configuration,
    key: str,
    title: str,
    over: Collection[tuple[int, int]] = (),
) -> Drawing | None:
    """Draw a configuration of which nothing is packed yet; None where there is no outline.

    over: (stack, level) of what is beyond a limit; level 0 for a whole stack.
    """
    boxes = _moved(layout.boxes(family, configuration))
    if not boxes:
        return None
    shapes = tuple(
        _shape(box, "over" if _is_over(box, over) else "planned", box.kind == "unit", None)
        for box in boxes
    )
    return _drawn(family, boxes, shapes, key, title)


def _is_over(box: Box, over: Collection[tuple[int, int]]) -> bool:
    whole = (box.stack, 0) in over and box.kind in OUTLINES
    return whole or (box.kind == "unit" and (box.stack, box.level) in over)


def _moved(boxes: Iterable[Box]) -> tuple[Box, ...]:
    """Boxes with a margin around, and room for measures above each row."""
    return tuple(replace(box, x=box.x + MARGIN, y=box.y + MARGIN + HEADROOM) for box in boxes)


def drawing_of_site(site: Site) -> Drawing | None:
    """Draw what stands at a site as it was described; None where nothing is known of it."""
    described = starting.description(site)
    if described is None:
        return None
    edition, configuration = described
    family = families.family_of(edition)
    drawn = layout.boxes(family, configurations.parse(dict(configuration), family))
    # Leads and brackets have no serial: the record knows nothing of them.
    boxes = _moved(box for box in drawn if box.kind in STANDING)
    if not boxes:
        return None
    stands = {(row.stack, row.level, row.role): row for row in stands_at(site.place)}
    begun = {stack for stack, _, _ in stands}
    words = WORDS | OF_SITE
    shapes = tuple(
        _shape(
            box,
            "fitted" if row or (box.stack in begun and not placed) else "needed",
            placed,
            row,
            words,
        )
        for box in boxes
        # A base that is only counted has no place of its own in the record.
        for placed in [family.items[box.item].tracking == Tracking.SERIAL]
        for row in [stands.get((box.stack, box.level, box.kind))]
    )
    title = f"What stands at {site.place.name}"
    return _drawn(family, boxes, shapes, "site", title, words)


def _drawn(
    family: Family,
    boxes: tuple[Box, ...],
    shapes: tuple[Shape, ...],
    key: str,
    title: str,
    words: Mapping[str, str] = WORDS,
) -> Drawing:
    counts = Counter(shape.state for shape in shapes)
    numbers = sorted({box.stack for box in boxes})
    captions = tuple(_caption(family, [b for b in boxes if b.stack == n]) for n in numbers)
    ends = [box.x + box.w for box in boxes] + [c.x + LETTER * len(c.text) for c in captions]
    return Drawing(
        key,
        max(max(ends) + MARGIN, BAR + 2 * MARGIN),
        max(box.y + box.h for box in boxes) + MARGIN + FOOTROOM,
        shapes,
        captions,
        title,
        ", ".join(f"{counts[state]} {word}" for state, word in words.items() if counts[state]),
        tuple((state, word) for state, word in words.items() if counts[state]),
    )


def _caption(family: Family, boxes: list[Box]) -> Caption:
    """How high or deep a stack comes, from its outlines."""
    outlines = [box for box in boxes if box.kind in OUTLINES] or boxes
    left, top = min(box.x for box in outlines), min(box.y for box in boxes)
    wide = max(box.x + box.w for box in outlines) - left
    high = max(box.y + box.h for box in outlines) - min(box.y for box in outlines)
    if family.arrangement == "row":
        deep = max(box.x + box.w for box in outlines if box.kind != "head") - left
        return Caption(left, top - 30, f"{deep / 1000:.2f} m from the wall, {high / 1000:.2f} high")
    return Caption(left, top - 30, f"{high / 1000:.2f} m high, {wide / 1000:.2f} wide")


def _states(
    boxes: tuple[Box, ...],
    places: set[tuple[int, int, str]],
    progress: Progress,
    stands: dict[tuple[int, int], AsBuilt],
    *,
    stood: bool,
) -> dict[str, str]:
    """Give each box its state: what is fitted by its place, the rest by the item's figures.

    stood: a stack stood there before the job, so what the kit does not bring is there already.
    """
    waiting: dict[str, list[Box]] = defaultdict(list)
    states: dict[str, str] = {}
    for box in boxes:
        if (box.stack, box.level, box.kind) in places and (box.stack, box.level) in stands:
            states[box.key] = "fitted"
        else:
            waiting[box.item].append(box)
    for item, drawn in waiting.items():
        total = progress.totals.get(item)
        wanted = 0 if total is None else total.needed - total.spare
        placed = any((box.stack, box.level, box.kind) in places for box in drawn)
        there = max(len(drawn) - wanted, 0) if stood and not placed else 0
        states |= {box.key: "fitted" for box in drawn[:there]}
        rest = drawn[there:]
        if total is None:
            states |= {box.key: "needed" for box in rest}
            continue
        trouble = min(total.missing + total.damaged, len(rest))
        figures = (
            ("fitted", total.used),
            ("seen", total.seen - total.fitted),
            ("loaded", total.loaded - total.fitted),
        )
        for number, box in enumerate(rest):
            reached = (state for state, count in figures if number < count)
            states[box.key] = next(reached, "needed")
        states |= {box.key: "trouble" for box in rest[len(rest) - trouble :]}
    return states


def _text(box: Box, serial: str) -> str:
    """Return what fits into a box: its place, and the serial's end where there is room."""
    return f"{box.level}: {serial[-4:]}" if serial and box.w >= ROOM else f"{box.level}"


def _shape(
    box: Box,
    state: str,
    placed: bool,
    stands: AsBuilt | None,
    words: Mapping[str, str] = WORDS,
) -> Shape:
    """placed: it stands at a place of the plan, where a unit with a serial belongs."""
    serial = stands.serial if placed and stands is not None else ""
    where = f"stack {box.stack}, place {box.level}" if placed else f"stack {box.stack}"
    return Shape(
        box.x,
        box.y,
        box.w,
        box.h,
        box.kind,
        state,
        f"{box.stack}/{box.level}" if placed else "",
        _text(box, serial) if placed else "",
        f"{NAMES[box.kind]}, {where}: {words[state]}" + (f", {serial}" if serial else ""),
    )

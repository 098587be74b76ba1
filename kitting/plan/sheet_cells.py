"""The words of a sheet of old job lists: its columns, what may stand in them, one cell read."""

import re
from collections.abc import Mapping, Sequence
from typing import Final

from kitting.plan.asking import QUESTIONS
from kitting.plan.needs import NEEDS, RAISED
from kitting.plan.reading import shown

Cell = str | int | float | None

CODE, NAME, FOLLOWED, FOR = "Item code", "Name", "Followed", "For"
STEP, BOX, QUESTION = "Step", "In the box of", "Question"
WEIGHT, WIDTH, HEIGHT, DEPTH = "Weight (g)", "Width (mm)", "Height (mm)", "Depth (mm)"
SIZES: Final = (WEIGHT, WIDTH, HEIGHT, DEPTH)
PERS: Final = ("per module", "per joint", "per stack", "per gap", "per entry", "per metre")
PER_JOB: Final = "per job"
WORDS: Final = (QUESTION, CODE, NAME, FOLLOWED, FOR, STEP, BOX, *SIZES, *PERS, PER_JOB)
MUST: Final = (CODE, NAME, FOR)
MODULES: Final = re.compile(r"(\d{1,2}) modules?")
MOST: Final = 10_000
"""No old job list has more of one item in one cell; beyond it a zero too many was typed."""
LONGEST_SHEET: Final = 3000
"""Rows of one page."""

FOLLOWING: Final[Mapping[str, str]] = {
    "piece": "count",
    "serial": "serial",
    "batch": "lot",
    "metre": "length",
    "tool": "tool",
    "used up": "supply",
}
"""What the column "Followed" says -> tracking of the item; empty is "piece"."""
STEPS: Final[Mapping[str, str]] = {
    "look over": "look",
    "foot": "base",
    "fix": "fix",
    "join": "join",
    "ends": "end",
    "connect": "connect",
    "earth": "earth",
    "glands": "gland",
    "seal": "seal",
    "labels": "label",
    "covers": "cover",
    "switch off": "down",
}
"""What a step is called -> its key."""


def purposes() -> dict[str, str]:
    """Every way to say what an item is for -> the need."""
    known: dict[str, str] = {}
    for need in NEEDS.values():
        if need.kind != RAISED:
            for words in (need.name, need.plain, QUESTIONS[need.name]):
                known[norm(words)] = need.name
    return known


def cell_at(cells: Sequence[Cell], place: int) -> Cell:
    return cells[place] if place < len(cells) else None


def words_of(cell: Cell) -> str:
    """A cell as it reads.

    >>> words_of(4.0), words_of(" a  b "), words_of(None)
    ('4', 'a b', '')
    """
    if isinstance(cell, float) and cell.is_integer():
        cell = int(cell)
    return "" if cell is None else " ".join(str(cell).split())


def norm(text: str) -> str:
    """Capitals, spaces and a last full stop or question mark do not count."""
    return " ".join(text.casefold().split()).rstrip(".?").removeprefix("for ")


def decimal(cell: Cell) -> float | None:
    """A number, however it was typed; none where that can be read two ways.

    >>> decimal("1,5"), decimal(2), decimal("two"), decimal("1e3"), decimal("1.250")
    (1.5, 2.0, None, None, None)
    """
    if isinstance(cell, str) and two_ways(cell):
        return None
    text = words_of(cell).replace(",", ".")
    return float(text) if re.fullmatch(r"\d{1,7}(\.\d{1,6})?", text) else None


def two_ways(text: str) -> str:
    """Say how a typed number can be read two ways, with what parts thousands and with a decimal.

    >>> two_ways("1.250"), two_ways("2,500"), two_ways("1.25"), two_ways("0.125")
    ('1250 or 1.25', '2500 or 2,5', '', '')
    """
    if not re.fullmatch(r"[1-9]\d{0,2}[.,]\d{3}", text.strip()):
        return ""
    mark = "," if "," in text else "."
    whole, _, part = text.strip().partition(mark)
    part = part if part[2] != "0" else part.rstrip("0")
    return f"{whole}{text.strip()[-3:]} or {whole}{mark if part else ''}{part}"


def as_typed(cell: Cell) -> str:
    """A cell that is no number as a fault shows it.

    >>> as_typed("1.250"), as_typed(None)
    ("'1.250', which is 1250 or 1.25", 'nothing')
    """
    doubt = two_ways(cell) if isinstance(cell, str) else ""
    return shown(cell if words_of(cell) else None) + (f", which is {doubt}" if doubt else "")


def letters(place: int) -> str:
    """A column as sheets name it.

    >>> letters(0), letters(27)
    ('column A', 'column AB')
    """
    name, place = "", place + 1
    while place:
        place, rest = divmod(place - 1, 26)
        name = chr(65 + rest) + name
    return f"column {name}"

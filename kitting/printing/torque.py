"""How tight at one step: a line for the maker's figure, and what the screw itself bears."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Final

from reportlab.platypus import Flowable

from inventory.models import Item
from kitting.models import KitLine
from kitting.plan.figures import fasteners
from kitting.printing import parts
from kitting.printing.local import figure, say, starting
from kitting.printing.parts import Cell, words

SCREW: Final = re.compile(r"\b(M[0-9]+)x[0-9]+\b")
"""A screw's designation in the name of an item: ISO 8991, "M6x16"."""
MARKS: Final = ("8.8", "10.9", "A2-70")
"""What the head of a screw may say: ISO 898-1, ISO 3506-1."""
FRICTION: Final = 0.12
BEARS: Final = (
    "The screw alone: 90 % of its yield by the mark on its head, friction 0.12 (VDI 2230-1:2003)."
    " What is joined, plastic, aluminium and terminals bear less."
)
TIGHTENED: Final = {
    "fasten": "the maker's manual",
    "fix to wall": "the maker's manual",
    "anchor": "the anchor's approval",
    "restrain": "the anchor's approval",
}
"""Need -> who says how tight."""


def table(lines: Iterable[KitLine], wide: float) -> list[Flowable]:
    """The screws of a step; nothing where none is tightened by figure. wide: points."""
    rows: list[list[Cell]] = []
    widths = [wide * share for share in (0.26, 0.24, 0.16, 0.34)]
    for line in lines:
        decides = _tightened_by(line)
        if decides:
            blank = parts.Blank(widths[2] - 12)
            rows.append(
                [
                    words(starting(line.item.name), "item"),
                    words(say(decides)),
                    blank,
                    _bears(line.item),
                ]
            )
    if not rows:
        return []
    head = (
        *(say("Torque of"), say("Who decides")),
        *(say("Nm, write it here"), say("The screw alone, at most")),
    )
    wrench = [(say("Wrench number"), ""), (say("Its test due"), "")]
    return [
        parts.gap(6),
        parts.together(
            parts.table(head, rows, widths),
            words(say(BEARS), "small"),
            parts.written_facts(wrench, wide),
        ),
    ]


def _tightened_by(line: KitLine) -> str:
    """Who says how tight the screws of a line are drawn; "" where nothing is."""
    if not SCREW.search(line.item.name):
        return ""
    needs = [str(reason["need"]).partition(":")[0] for reason in line.reasons]
    return next((TIGHTENED[need] for need in needs if need in TIGHTENED), "")


def _bears(item: Item) -> Flowable:
    """The figure of a plain screw by the mark on its head; an anchor has none."""
    found = SCREW.search(item.name)
    thread = found.group(1) if found else ""
    if thread not in fasteners.COARSE or "anchor" in item.name:
        return words("-")
    figures = [f"{m}: {figure(fasteners.torque(thread, m, FRICTION), 1)} Nm" for m in MARKS]
    return words(", ".join(figures), "small")

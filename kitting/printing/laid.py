"""The cables of one step: how long, through what, ended by what."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from reportlab.platypus import Flowable

from kitting.plan.runs import Part, Wired
from kitting.printing import parts
from kitting.printing.local import figure, measure, of_item, say
from kitting.printing.parts import Cell, words

HEAD = ("Run", "Cable and pieces", "Goes in by", "Ends", "Measured here")
SHARES = (0.15, 0.25, 0.22, 0.2, 0.18)
"""Of the width."""


def table(runs: Sequence[Wired], wide: float) -> list[Flowable]:
    """The runs that are laid at a step; nothing where there is none. wide: points."""
    if not runs:
        return []
    widths = [wide * share for share in SHARES]
    return [
        parts.gap(6),
        parts.room(100),
        words(say("Wiring runs"), "item", heavy=True),
        parts.gap(2),
        parts.table([say(one) for one in HEAD], [_row(run, widths) for run in runs], widths),
    ]


def _row(run: Wired, widths: Sequence[float]) -> list[Cell]:
    where = "" if run.place == "system" else run.place.removeprefix(f"{run.of}, ")
    name = [words(run.of, "item", heavy=True)]
    name += [words(where, "small")] if where else []
    cable = [*_listed(run.cables), *_pieces(run)]
    entered = _listed(run.entries)
    if run.diameter:
        entered.append(words(say("cable of {0} mm", figure(run.diameter / 10)), "small"))
    return [name, cable, entered, _listed(run.ends), parts.Blank(widths[4] - 12)]


def _listed(found: Iterable[Part]) -> list[Flowable]:
    """Items along a run; sealant is told at its own step."""
    shown = [part for part in found if part.unit != "ul"]
    return [words(of_item(part.quantity, part.unit, part.name)) for part in shown]


def _pieces(run: Wired) -> list[Flowable]:
    told = []
    if run.pieces:
        cut = " + ".join(measure(piece, "mm") for piece in run.pieces)
        told.append(words(say("cut {0}", cut), "text", heavy=True))
    if run.way:
        told.append(words(say("way of {0}", measure(run.way, "mm")), "small"))
    return told

"""The site sheet: for the crew, step by step, with the cautions where they count.

It says what the parts list says and who decides; never that something may be done.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any, Final

from reportlab.platypus import Flowable

from inventory.models import Item, Tracking
from inventory.queries import latest_mark
from inventory.words import measure
from kitting import families, overviews, signing
from kitting.drawing import drawing_of
from kitting.models import AsBuilt, Kit, KitLine
from kitting.overviews import Step
from kitting.plan import configuration as configurations
from kitting.plan import runs
from kitting.plan.figures import fasteners
from kitting.plan.local_rules import LocalRule
from kitting.plan.runs import Part, Wired
from kitting.printing import paper, parts, said
from kitting.printing.parts import Cell, words
from kitting.printing.pick import dropped, notes, when_and_van
from kitting.printing.stack import Figure
from kitting.progress import fold
from kitting.queries import comes_back, stands_at
from kitting.snapshot import positions, told_there
from kitting.tallies import LineProgress

FIRST: Final = (
    "The maker's manual, the local code and the licensed people on site come before this sheet."
)
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


def pdf(kit: Kit, size: str) -> bytes:
    """The site sheet of a kit. size: one of paper.SIZES."""
    running = paper.Running(
        f"Site sheet {kit.code}", when_and_van(kit), paper.mark_words(latest_mark())
    )
    return paper.written(_Sheet(kit, size).content(), running, size)


class _Sheet:
    """The parts of one site sheet."""

    def __init__(self, kit: Kit, size: str) -> None:
        self.kit, self.wide, self.high = kit, paper.width(size), paper.height(size)
        self.progress = fold(kit)
        self.steps = overviews.steps_of(kit, self.progress)
        self.known = said.known_items(kit)
        self.checks = signing.checks(kit)
        family = families.family_of(kit.edition)
        asked = configurations.parse(dict(kit.snapshot["configuration"]), family)
        brought = {row.line.item.code for row in self.progress.lines}
        self.wired = list(runs.met_by(runs.runs(family, asked), brought))

    def content(self) -> list[Flowable]:
        """All of it, in the order of the work."""
        found = [*self._head(), *self._open(), *self._stack(), *self._places()]
        for step in self.steps:
            found += self._step(step)
        return [*found, *self._checks(), *self._back(), *self._end()]

    def _head(self) -> list[Flowable]:
        kit, job = self.kit, self.kit.job
        edition = kit.edition.edition
        trial = " (trial)" if kit.edition.status == "trial" else ""
        rows = [
            ("Job", f"{job.get_kind_display()}, {job.date:%A} {job.date.day} {job.date:%B %Y}"),
            ("Site", str(job.site)),
            ("Address", job.site.address),
            ("Crew", ", ".join(person.name for person in job.crew.order_by("name"))),
            ("Van", job.van.name if job.van else ""),
            ("Parts list of", f"{edition.day} {edition:%b %Y}{trial}"),
        ]
        return [
            words(f"At the site: {kit.code}", "huge", heavy=True),
            parts.gap(8),
            parts.facts(rows, self.wide),
            parts.gap(6),
            parts.boxed([words(FIRST, "item", heavy=True)], self.wide),
        ]

    def _open(self) -> list[Flowable]:
        """What is not settled, said first."""
        told = [f"Still open: {asked}" for asked in self._asked()]
        told += [f"By hand: {one}" for one in dropped(self.kit)]
        if self.kit.released_at is None:
            told.insert(0, "Not released yet: this may still change.")
        if not told:
            return []
        return [parts.gap(6), parts.boxed([words(one, "item") for one in told], self.wide)]

    def _asked(self) -> Iterable[str]:
        return signing.left_open(self.kit)

    def _stack(self) -> list[Flowable]:
        drawing = drawing_of(self.kit, self.progress)
        if drawing is None:
            return []
        figure = Figure(drawing, self.wide, self.high * 0.55)
        return [parts.together(*parts.heading("What will stand there"), figure)]

    def _places(self) -> list[Flowable]:
        """Each place of the stacks with its serial, or a line to write it on."""
        stands = {(row.stack, row.level): row for row in stands_at(self.kit.job.site.place)}
        names = dict(
            Item.objects.filter(code__in={p.item for p in positions(self.kit)}).values_list(
                "code", "name"
            )
        )
        widths = [self.wide * share for share in (0.1, 0.1, 0.3, 0.34, 0.16)]
        rows: list[list[Cell]] = []
        for place in positions(self.kit):
            row = stands.get((place.stack, place.level))
            rows.append(
                [
                    words(str(place.stack), "item", heavy=True),
                    words(str(place.level), "item", heavy=True),
                    words(names.get(place.item, place.item), "item"),
                    *_who_stands(row, place.role, widths[3] - 12, widths[4] - 12),
                ]
            )
        if not rows:
            return []
        head = ("Stack", "Place", "What", "Serial, read from the unit itself", "Number on screen")
        more = "Place 1 is the lowest, or the one next to the wall."
        return [
            parts.room(110),
            *parts.heading("Which unit stands where", more),
            parts.table(head, rows, widths),
        ]

    def _step(self, step: Step) -> list[Flowable]:
        number = [one.key for one in self.steps].index(step.key) + 1
        cautions = [self._caution(caution) for caution in step.cautions]
        # A step's title never stands alone, and its cautions stand where it begins.
        found: list[Flowable] = [
            parts.gap(4),
            parts.room(130),
            parts.together(*parts.heading(f"{number}  {step.title}"), *cautions),
            *(self._task(task) for task in step.tasks),
        ]
        if step.rows:
            found += [parts.gap(4), self._lines(step.rows)]
        return [*found, *self._runs(step), *self._torque(step), *self._there(step)]

    def _there(self, step: Step) -> list[Flowable]:
        """What the code of the place asks: looked at first, labels and signs with the labels."""
        keys = [one.key for one in self.steps]
        first = "look" if "look" in keys else keys[0]
        last = "label" if "label" in keys else keys[-1]
        told = [
            rule for rule in told_there(self.kit) if step.key == (first if rule.judged else last)
        ]
        if not told:
            return []
        widths = [self.wide * share for share in (0.06, 0.6, 0.34)]
        rows = [self._asked_there(rule, widths) for rule in told]
        return [
            parts.gap(6),
            parts.room(90),
            parts.table(("", f"{told[0].code} asks", "Seen or measured"), rows, widths),
        ]

    def _asked_there(self, rule: LocalRule, widths: list[float]) -> list[Cell]:
        signed = {check.question: check.answer for check in self.checks}
        answer = signed.get(rule.question, "")
        said_: list[Flowable] = [words(rule.asks, "item")] if rule.asks else []
        said_.append(words(rule.words, "text" if rule.asks else "item"))
        said_.append(words(f"{rule.source}. Who decides: {rule.decides}.", "small"))
        blank: Cell = parts.Blank(widths[2] - 12)
        return [parts.Tick(16), said_, words(answer, "item", heavy=True) if answer else blank]

    def _caution(self, caution: dict[str, str]) -> Flowable:
        told = parts.runs(("Caution", True), (caution["words"], False), name="item")
        decides = words(f"Who decides: {caution['decides']}.")
        return parts.spaced(parts.boxed([told, decides], self.wide, thick=2.4))

    def _task(self, task: str) -> Flowable:
        return parts.beside(parts.Tick(14), [words(task, "item")], self.wide)

    def _lines(self, rows: Iterable[LineProgress]) -> Flowable:
        widths = [self.wide * share for share in (0.06, 0.16, 0.53, 0.25)]
        cells: list[list[Cell]] = []
        for row in rows:
            line = row.line
            count, opened = said.quantity(row.needed, line.item, self.known.get(line.item.code))
            much: list[Flowable] = [words(count, "count", heavy=True)]
            much += [words(opened, "small")] if opened else []
            named = [words(line.item.name[:1].upper() + line.item.name[1:], "item")]
            named += [words(one, "small", heavy=True) for one in notes(line)]
            cells.append([parts.Tick(16), much, named, words(line.item.code, "small")])
        return parts.table(("", "How many", "Item", "Item code"), cells, widths)

    def _runs(self, step: Step) -> list[Flowable]:
        """The cables laid at this step: how long, through what, ended by what."""
        laid = [one for one in self.wired if one.step == step.key]
        if not laid:
            return []
        widths = [self.wide * share for share in (0.15, 0.25, 0.22, 0.2, 0.18)]
        head = ("Run", "Cable and pieces", "Goes in by", "Ends", "Measured here")
        rows = [self._run(one, widths) for one in laid]
        return [
            parts.gap(6),
            parts.room(100),
            words("Wiring runs", "item", heavy=True),
            parts.gap(2),
            parts.table(head, rows, widths),
        ]

    def _run(self, run: Wired, widths: list[float]) -> list[Cell]:
        where = "" if run.place == "system" else run.place.removeprefix(f"{run.of}, ")
        name = [words(run.of, "item", heavy=True)]
        name += [words(where, "small")] if where else []
        cable = [*_listed(run.cables), *_pieces(run)]
        entered = _listed(run.entries)
        if run.diameter:
            entered.append(words(f"cable of {run.diameter / 10:g} mm", "small"))
        return [name, cable, entered, _listed(run.ends), parts.Blank(widths[4] - 12)]

    def _torque(self, step: Step) -> list[Flowable]:
        """How tight: a line to write the maker's figure, and what the screw itself bears."""
        rows: list[list[Cell]] = []
        widths = [self.wide * share for share in (0.26, 0.24, 0.16, 0.34)]
        for line in (row.line for row in step.rows):
            decides = _tightened_by(line)
            if decides:
                named = line.item.name[:1].upper() + line.item.name[1:]
                blank = parts.Blank(widths[2] - 12)
                rows.append([words(named, "item"), words(decides), blank, _bears(line.item)])
        if not rows:
            return []
        head = ("Torque of", "Who decides", "Nm, write it here", "The screw alone, at most")
        wrench = [("Wrench number", ""), ("Its test due", "")]
        return [
            parts.gap(6),
            parts.together(
                parts.table(head, rows, widths),
                words(BEARS, "small"),
                parts.written_facts(wrench, self.wide),
            ),
        ]

    def _checks(self) -> list[Flowable]:
        signed = [check for check in self.checks if check.in_words]
        cells = [[words(check.asked), words(check.answer, "item", heavy=True)] for check in signed]
        if not cells:
            return []
        widths = [self.wide * share for share in (0.6, 0.4)]
        title = parts.heading("Seen to by a person", "The parts list does not say these.")
        return [*title, parts.table(("Asked", "What was seen to"), cells, widths)]

    def _back(self) -> list[Flowable]:
        """What comes back to the depot."""
        widths = [self.wide * share for share in (0.06, 0.16, 0.44, 0.34)]
        rows: list[list[Cell]] = []
        for freed in comes_back(self.kit):
            unit = freed.item.unit if freed.item else "piece"
            name = freed.item.name if freed.item else freed.code
            rows.append(_back_row(measure(freed.quantity, unit), name, "taken down", widths))
        lines = [row.line for row in self.progress.lines]
        tools = [line for line in lines if line.item.tracking == Tracking.TOOL]
        rows += [
            _back_row(measure(line.quantity, line.unit), line.item.name, "tool", widths)
            for line in tools
        ]
        more = "With all that was not used, the spares and every damaged thing with its packing."
        return [
            parts.room(110),
            *parts.heading("What comes back", more),
            *(
                [parts.table(("", "How many", "What", "Serial or note"), rows, widths)]
                if rows
                else []
            ),
            *self._thrown(),
        ]

    def _thrown(self) -> list[Flowable]:
        """Parts of what stood that are renewed and not used again."""
        lines: list[dict[str, Any]] = self.kit.snapshot["renewed"]
        if not lines:
            return []
        listed = ", ".join(
            f"{measure(one['quantity'], one['unit'])} x {one['name']}" for one in lines
        )
        return [parts.gap(4), words(f"Renewed, the old ones are not used again: {listed}.")]

    def _end(self) -> list[Flowable]:
        rows = (
            "Fitted by",
            "Second person",
            "Licensed electrician: isolated, connected, tested",
            "Customer or who was there",
        )
        return [parts.together(*parts.heading("Who"), parts.signatures(rows, self.wide))]


def _who_stands(row: AsBuilt | None, role: str, wide: float, narrow: float) -> list[Cell]:
    """The serial and number at a place, or lines to write them on. wide, narrow: points."""
    if row is None:
        return [parts.Blank(wide), parts.Blank(narrow)]
    if row.role != role:
        now = words(f"now: {row.what}", "small")
        return [[now, parts.Blank(wide)], parts.Blank(narrow)]
    shown: Cell = parts.Blank(narrow) if row.number is None else words(str(row.number), "item")
    return [words(row.serial or "not seen", "item", heavy=True), shown]


def _listed(found: Iterable[Part]) -> list[Flowable]:
    """Items along a run; sealant is told at its own step."""
    told = []
    for part in found:
        if part.unit != "ul":
            joined = "x" if part.unit == "piece" else "of"
            told.append(words(f"{measure(part.quantity, part.unit)} {joined} {part.name}"))
    return told


def _pieces(run: Wired) -> list[Flowable]:
    told = []
    if run.pieces:
        cut = " + ".join(measure(piece, "mm") for piece in run.pieces)
        told.append(words(f"cut {cut}", "text", heavy=True))
    if run.way:
        told.append(words(f"way of {measure(run.way, 'mm')}", "small"))
    return told


def _back_row(count: str, name: str, why: str, widths: list[float]) -> list[Cell]:
    named = words(f"{name[:1].upper()}{name[1:]} ({why})", "item")
    return [parts.Tick(16), words(count, "count", heavy=True), named, parts.Blank(widths[3] - 12)]


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
    figures = [f"{m}: {fasteners.torque(thread, m, FRICTION):.1f} Nm" for m in MARKS]
    return words(", ".join(figures), "small")

"""The site sheet: for the crew, step by step, with the cautions where they count.

It says what the parts list says and who decides; never that something may be done.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, Final

from reportlab.platypus import Flowable

from inventory.models import Item, Tracking
from inventory.queries import latest_mark
from kitting import families, overviews, signing
from kitting.drawing import drawing_of
from kitting.models import AsBuilt, Kit
from kitting.overviews import Step
from kitting.plan import configuration as configurations
from kitting.plan import runs
from kitting.plan.local_rules import LocalRule
from kitting.printing import laid, paper, parts, said, torque
from kitting.printing.local import day, long_day, measure, say, starting
from kitting.printing.parts import Cell, words
from kitting.printing.pick import when_and_van
from kitting.printing.stack import Figure
from kitting.progress import fold
from kitting.queries import comes_back, stands_at
from kitting.snapshot import Position, positions, told_there
from kitting.speaking import told
from kitting.tallies import LineProgress

FIRST: Final = (
    "The maker's manual, the local code and the licensed people on site come before this sheet."
)


def pdf(kit: Kit, size: str) -> bytes:
    """The site sheet of a kit. size: one of paper.SIZES."""
    running = paper.Running(
        say("Site sheet {0}", kit.code), when_and_van(kit), paper.mark_words(latest_mark())
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
        self.axes = family.axes
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
        trial = f" {say('(trial)')}" if kit.edition.status == "trial" else ""
        rows = [
            (say("Job"), f"{say(str(job.get_kind_display()))}, {long_day(job.date)}"),
            (say("Site"), str(job.site)),
            (say("Address"), job.site.address),
            (say("Crew"), ", ".join(person.name for person in job.crew.order_by("name"))),
            (say("Van"), job.van.name if job.van else ""),
            (say("Parts list of"), f"{day(edition)}{trial}"),
        ]
        return [
            words(say("At the site: {0}", kit.code), "huge", heavy=True),
            parts.gap(8),
            parts.facts(rows, self.wide),
            parts.gap(6),
            parts.boxed([words(say(FIRST), "item", heavy=True)], self.wide),
        ]

    def _open(self) -> list[Flowable]:
        """What is not settled, said first."""
        found = said.to_come(self.kit) + said.still_open(self.kit)
        found += [say("By hand: {0}", one) for one in said.dropped(self.kit)]
        found += said.taken_both(self.kit)
        if self.kit.released_at is None:
            found.insert(0, say("Not released yet: this may still change."))
        if self.kit.job.cancelled_at is not None:
            found.insert(0, say(said.CANCELLED))
        if not found:
            return []
        return [parts.gap(6), parts.boxed([words(one, "item") for one in found], self.wide)]

    def _stack(self) -> list[Flowable]:
        drawing = drawing_of(self.kit, self.progress)
        if drawing is None:
            return []
        figure = Figure(drawing, self.wide, self.high * 0.55)
        return [parts.together(*parts.heading(say("What will stand there")), figure)]

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
                    *_who_stands(row, self._stays(row, place), widths[3] - 12, widths[4] - 12),
                ]
            )
        if not rows:
            return []
        head = (
            *(say("Stack"), say("Place"), say("What")),
            *(say("Serial, read from the unit itself"), say("Number on screen")),
        )
        more = say("Place 1 is the lowest, or the one next to the wall.")
        return [
            parts.room(110),
            *parts.heading(say("Which unit stands where"), more),
            parts.table(head, rows, widths),
        ]

    def _stays(self, row: AsBuilt | None, place: Position) -> bool:
        """Whether what stands at a place is what will stand there after this job."""
        if row is None or row.role != place.role:
            return False
        asked = self.kit.snapshot["configuration"].get("swap", ())
        swapped = {(one["stack"], one["level"]) for one in asked}
        return (row.stack, row.level) not in swapped or row.since.subject == self.kit.subject

    def _step(self, step: Step) -> list[Flowable]:
        number = [one.key for one in self.steps].index(step.key) + 1
        cautions = [self._caution(caution) for caution in step.cautions]
        # A step's title never stands alone, and its cautions stand where it begins.
        found: list[Flowable] = [
            parts.gap(4),
            parts.room(130),
            parts.together(*parts.heading(f"{number}  {told(step.title)}"), *cautions),
            *(self._task(task) for task in step.tasks),
        ]
        if step.rows:
            found += [parts.gap(4), self._lines(step.rows)]
        lines = [row.line for row in step.rows]
        laid_here = [one for one in self.wired if one.step == step.key]
        return [
            *found,
            *laid.table(laid_here, self.wide),
            *torque.table(lines, self.wide),
            *self._there(step),
        ]

    def _there(self, step: Step) -> list[Flowable]:
        """What the code of the place asks: looked at first, labels and signs with the labels."""
        keys = [one.key for one in self.steps]
        first = "look" if "look" in keys else keys[0]
        last = "label" if "label" in keys else keys[-1]
        asked = [
            rule for rule in told_there(self.kit) if step.key == (first if rule.judged else last)
        ]
        if not asked:
            return []
        widths = [self.wide * share for share in (0.06, 0.6, 0.34)]
        rows = [self._asked_there(rule, widths) for rule in asked]
        return [
            parts.gap(6),
            parts.room(90),
            parts.table(
                ("", say("{0} asks", asked[0].code), say("Seen or measured")), rows, widths
            ),
        ]

    def _asked_there(self, rule: LocalRule, widths: list[float]) -> list[Cell]:
        signed = {check.question: check.answer for check in self.checks}
        answer = signed.get(rule.question, "")
        said_: list[Flowable] = [words(rule.asks, "item")] if rule.asks else []
        said_.append(words(rule.words, "text" if rule.asks else "item"))
        said_.append(words(say("{0}. Who decides: {1}.", rule.source, rule.decides), "small"))
        blank: Cell = parts.Blank(widths[2] - 12)
        return [parts.Tick(16), said_, words(answer, "item", heavy=True) if answer else blank]

    def _caution(self, caution: dict[str, str]) -> Flowable:
        first = parts.runs((say("Caution"), True), (told(caution["words"]), False), name="item")
        decides = words(say("Who decides: {0}.", told(caution["decides"])))
        return parts.spaced(parts.boxed([first, decides], self.wide, thick=2.4))

    def _task(self, task: str) -> Flowable:
        return parts.beside(parts.Tick(14), [words(told(task), "item")], self.wide)

    def _lines(self, rows: Iterable[LineProgress]) -> Flowable:
        widths = [self.wide * share for share in (0.06, 0.16, 0.53, 0.25)]
        cells: list[list[Cell]] = []
        for row in rows:
            line = row.line
            count, opened = said.quantity(row.needed, line.item, self.known.get(line.item.code))
            much: list[Flowable] = [words(count, "count", heavy=True)]
            much += [words(opened, "small")] if opened else []
            named = [words(starting(line.item.name), "item")]
            named += [words(one, "small", heavy=True) for one in said.notes(line, self.axes)]
            cells.append([parts.Tick(16), much, named, words(line.item.code, "small")])
        return parts.table(("", say("How many"), say("Item"), say("Item code")), cells, widths)

    def _checks(self) -> list[Flowable]:
        signed = [check for check in self.checks if check.in_words]
        cells = [[words(check.asked), words(check.answer, "item", heavy=True)] for check in signed]
        if not cells:
            return []
        widths = [self.wide * share for share in (0.6, 0.4)]
        title = parts.heading(say("Seen to by a person"), say("The parts list does not say these."))
        return [*title, parts.table((say("Asked"), say("What was seen to")), cells, widths)]

    def _back(self) -> list[Flowable]:
        """What comes back to the depot."""
        widths = [self.wide * share for share in (0.06, 0.16, 0.44, 0.34)]
        rows: list[list[Cell]] = []
        for freed in comes_back(self.kit):
            unit = freed.item.unit if freed.item else "piece"
            name = freed.item.name if freed.item else freed.code
            rows.append(_back_row(measure(freed.quantity, unit), name, say("taken down"), widths))
        lines = [row.line for row in self.progress.lines]
        tools = [line for line in lines if line.item.tracking == Tracking.TOOL]
        rows += [
            _back_row(measure(line.quantity, line.unit), line.item.name, say("tool"), widths)
            for line in tools
        ]
        more = say(
            "With all that was not used, the spares and every damaged thing with its packing."
        )
        return [
            parts.room(110),
            *parts.heading(say("What comes back"), more),
            *(
                [
                    parts.table(
                        ("", say("How many"), say("What"), say("Serial or note")), rows, widths
                    )
                ]
                if rows
                else []
            ),
            *self._thrown(),
            *self._moved(),
        ]

    def _moved(self) -> list[Flowable]:
        """What an expansion takes off at one place and fits at another."""
        moves: list[dict[str, Any]] = self.kit.snapshot["moves"]
        named = {line.item.code: line.item.name for line in (r.line for r in self.progress.lines)}
        return [
            words(
                say(
                    "Moves: {0} x {1} from {2} to {3}.",
                    *(one["quantity"], named.get(one["item"], one["item"])),
                    *(one["from_place"], one["to_place"]),
                )
            )
            for one in moves
        ]

    def _thrown(self) -> list[Flowable]:
        """Parts of what stood that are renewed and not used again."""
        lines: list[dict[str, Any]] = self.kit.snapshot["renewed"]
        if not lines:
            return []
        listed = ", ".join(
            f"{measure(one['quantity'], one['unit'])} x {one['name']}" for one in lines
        )
        return [parts.gap(4), words(say("Renewed, the old ones are not used again: {0}.", listed))]

    def _end(self) -> list[Flowable]:
        rows = (
            *(say("Fitted by"), say("Second person")),
            say("Licensed electrician: isolated, connected, tested"),
            say("Customer or who was there"),
        )
        return [parts.together(*parts.heading(say("Who")), parts.signatures(rows, self.wide))]


def _who_stands(row: AsBuilt | None, stays: bool, wide: float, narrow: float) -> list[Cell]:
    """The serial and number at a place, or lines to write them on. wide, narrow: points."""
    if row is None:
        return [parts.Blank(wide), parts.Blank(narrow)]
    if not stays:
        now = words(say("now: {0}", row.what), "small")
        return [[now, parts.Blank(wide)], parts.Blank(narrow)]
    shown: Cell = parts.Blank(narrow) if row.number is None else words(str(row.number), "item")
    return [words(row.serial or say("not seen"), "item", heavy=True), shown]


def _back_row(count: str, name: str, why: str, widths: list[float]) -> list[Cell]:
    named = words(f"{starting(name)} ({why})", "item")
    return [parts.Tick(16), words(count, "count", heavy=True), named, parts.Blank(widths[3] - 12)]

"""The hand-over sheet: what stands at the site, unit by unit, and lines for what was measured.

It bears the record mark, so that nobody rewrites later what was handed over. Names of people and
of the site can be erased from the program; the ids beside them stay.
"""

from __future__ import annotations

from typing import Final

from reportlab.platypus import Flowable

from inventory.models import Person
from inventory.queries import latest_mark
from kitting import joining
from kitting.drawing import drawing_of
from kitting.models import AsBuilt, Kit
from kitting.printing import paper, parts
from kitting.printing.parts import Cell, words
from kitting.printing.stack import Figure
from kitting.progress import fold
from kitting.queries import open_problems, stands_at

TESTS: Final = (
    ("Continuity of the protective conductor", "ohm"),
    ("Insulation resistance", "megohm"),
    ("Test voltage it was taken with", "V"),
    ("Polarity and phase", ""),
    ("Automatic disconnection", ""),
    ("Switching off: isolator and emergency stop work", ""),
    ("Voltage of each stack before it is joined", "V"),
    ("State of charge shown", "%"),
)
"""Common practice after IEC 60364-6:2016, 6.4.3 (initial verification), from memory; who tests
decides which apply."""
DECIDES: Final = (
    "Which tests apply, how they are made and which figures are good is for the licensed"
    " electrician under the local code, and for the maker's manual."
)


def pdf(kit: Kit, size: str) -> bytes:
    """The hand-over sheet of a kit's site. size: one of paper.SIZES."""
    job, mark = kit.job, latest_mark()
    running = paper.Running(
        f"Hand-over {job.code}",
        f"{kit.code}, {job.date.day} {job.date:%b %Y}",
        paper.mark_words(mark),
    )
    wide, high = paper.width(size), paper.height(size)
    content = [
        *_head(kit, wide),
        *_stack(kit, wide, high),
        *_stands(kit, wide),
        *_problems(kit, wide),
        *_charge(kit, wide),
        *_tests(wide),
        *_end(kit, wide, mark),
    ]
    return paper.written(content, running, size)


def _head(kit: Kit, wide: float) -> list[Flowable]:
    job, edition = kit.job, kit.edition.edition
    rows = [
        ("Job", f"{job.code}, {job.get_kind_display()}"),
        ("Day", f"{job.date:%A} {job.date.day} {job.date:%B %Y}"),
        ("Site", str(job.site)),
        ("Address", job.site.address),
        ("Site by its id", job.site.place.code),
        ("Crew", ", ".join(_named(person) for person in job.crew.order_by("name"))),
        ("Parts list", f"{kit.edition.name} of {edition.day} {edition:%b %Y}"),
        ("Kit", f"{kit.code}, {'closed' if kit.closed_by_id else 'not closed yet'}"),
    ]
    return [
        words(f"Hand-over of {job.code}", "huge", heavy=True),
        parts.gap(8),
        parts.facts(rows, wide),
    ]


def _named(person: Person) -> str:
    """A person with the id that stays when the name is erased."""
    return f"{person.name} ({person.username})" if person.name != person.username else person.name


def _stack(kit: Kit, wide: float, high: float) -> list[Flowable]:
    drawing = drawing_of(kit, fold(kit))
    if drawing is None:
        return []
    return [parts.together(*parts.heading("The stack"), Figure(drawing, wide, high * 0.45))]


def _stands(kit: Kit, wide: float) -> list[Flowable]:
    """Every unit that stands there by the record."""
    found = list(stands_at(kit.job.site.place))
    title = parts.heading("What stands there", "As it was scanned at the unit itself.")
    if not found:
        return [*title, words("Nothing was scanned into its place yet.", "item")]
    widths = [wide * share for share in (0.09, 0.09, 0.26, 0.26, 0.12, 0.18)]
    head = ("Stack", "Place", "What", "Serial", "Number on screen", "Revision and firmware")
    rows = [_standing(row, widths) for row in found]
    return [parts.room(110), *title, parts.table(head, rows, widths)]


def _standing(row: AsBuilt, widths: list[float]) -> list[Cell]:
    soft = ", ".join(part for part in (row.revision, row.firmware) if part)
    return [
        words(str(row.stack), "item", heavy=True),
        words(str(row.level), "item", heavy=True),
        words(row.kind_of.name, "item"),
        words(row.serial or "not seen", "item", heavy=True),
        parts.Blank(widths[4] - 12) if row.number is None else words(str(row.number), "item"),
        words(soft) if soft else parts.Blank(widths[5] - 12),
    ]


def _problems(kit: Kit, wide: float) -> list[Flowable]:
    """What is still open; a hand-over that hides it helps nobody."""
    found = list(open_problems(kit))
    if not found:
        return []
    rows: list[list[Cell]] = [
        [words(one.get_kind_display().capitalize(), "item", heavy=True), words(one.words, "item")]
        for one in found
    ]
    title = parts.heading("Still open")
    return [*title, parts.table(("Problem", "What"), rows, [wide * 0.25, wide * 0.75])]


def _charge(kit: Kit, wide: float) -> list[Flowable]:
    """The charge that units showed before they were joined."""
    asked = joining.asked_of(kit)
    if asked is None:
        return []
    rows: list[list[Cell]] = [
        [words(str(unit), "item"), words(f"{percent} %", "item", heavy=True)]
        for unit, percent in asked.read
    ]
    title = parts.heading("Charge before joining", asked.words)
    told = parts.table(("Unit", "It showed"), rows, [wide * 0.7, wide * 0.3])
    return [parts.room(90), *title, told if rows else words("Nothing was entered.", "item")]


def _tests(wide: float) -> list[Flowable]:
    widths = [wide * share for share in (0.46, 0.26, 0.14, 0.14)]
    rows: list[list[Cell]] = [
        [
            words(said, "item"),
            parts.beside_unit(widths[1] - 12, unit),
            parts.Tick(14),
            parts.Blank(widths[3] - 12),
        ]
        for said, unit in TESTS
    ]
    return [
        parts.room(160),
        *parts.heading("Measured at the site", DECIDES),
        parts.table(("Test", "Reading", "Done", "By"), rows, widths),
        parts.written_facts([("Meter", ""), ("Its calibration due", "")], wide),
    ]


def _end(kit: Kit, wide: float, mark: dict[str, int | str]) -> list[Flowable]:
    rows = ("Handed over by", "Licensed electrician", "Taken over by")
    told = (
        f"The record mark at the foot stands for all {mark['size']} entries of this firm's record"
        " when this sheet was printed (SHA-256, RFC 9162): whoever changes one afterwards changes"
        " the mark. Names can be erased from the record; the ids on this sheet stay."
    )
    return [
        parts.together(*parts.heading("Who"), parts.signatures(rows, wide)),
        parts.gap(8),
        words(told, "small"),
    ]

"""The hand-over sheet: what stands at the site, unit by unit, and lines for what was measured.

It bears the record mark, so that nobody rewrites later what was handed over. Names of people and
of the site can be erased from the program; the ids beside them stay.
"""

from __future__ import annotations

import io
from typing import Final

from reportlab.platypus import Flowable, Image

from inventory import photos
from inventory.models import Person
from inventory.queries import latest_mark
from kitting import bus_measuring, handing_over, joining, ticking
from kitting.drawing import drawing_of
from kitting.models import AsBuilt, Kit
from kitting.printing import paper, parts, said
from kitting.printing.local import day as short_day
from kitting.printing.local import figure, long_day, measure, moment, say, starting
from kitting.printing.parts import Cell, words
from kitting.printing.stack import Figure
from kitting.progress import fold
from kitting.queries import open_problems, stands_at
from kitting.speaking import told

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


FIRST: Final = "The maker's manual comes first, then the local code."
SIGNATURE: Final = 60.0
"""mm that a drawn signature is wide."""


def pdf(kit: Kit, size: str) -> bytes:
    """The hand-over sheet of a kit's site. size: one of paper.SIZES."""
    job, mark = kit.job, latest_mark()
    running = paper.Running(
        say("Hand-over {0}", job.code),
        f"{kit.code}, {short_day(job.date)}",
        paper.mark_words(mark),
    )
    wide, high = paper.width(size), paper.height(size)
    content = [
        *_head(kit, wide),
        *_stack(kit, wide, high),
        *_stands(kit, wide),
        *_problems(kit, wide),
        *_parts(kit, wide),
        *_charge(kit, wide),
        *_buses(kit, wide),
        *_ticked(kit, wide),
        *_tests(wide),
        *_cautions(kit),
        *_end(kit, wide, mark),
    ]
    return paper.written(content, running, size)


def _head(kit: Kit, wide: float) -> list[Flowable]:
    job, edition = kit.job, kit.edition.edition
    rows = [
        (say("Job"), f"{job.code}, {say(str(job.get_kind_display()))}"),
        (say("Day"), long_day(job.date)),
        (say("Site"), str(job.site)),
        (say("Address"), job.site.address),
        (say("Site by its id"), job.site.place.code),
        (say("Crew"), ", ".join(_named(person) for person in job.crew.order_by("name"))),
        (say("Parts list"), say("{0} of {1}", kit.edition.name, short_day(edition))),
        (say("Kit"), f"{kit.code}, {say('closed') if kit.closed_by_id else say('not closed yet')}"),
    ]
    return [
        words(say("Hand-over of {0}", job.code), "huge", heavy=True),
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
    return [parts.together(*parts.heading(say("The stack")), Figure(drawing, wide, high * 0.45))]


def _stands(kit: Kit, wide: float) -> list[Flowable]:
    """Every unit that stands there by the record."""
    found = list(stands_at(kit.job.site.place))
    title = parts.heading(say("What stands there"), say("As it was scanned at the unit itself."))
    if not found:
        return [*title, words(say("Nothing was scanned into its place yet."), "item")]
    widths = [wide * share for share in (0.09, 0.11, 0.25, 0.25, 0.12, 0.18)]
    head = (
        *(say("Stack"), say("Place"), say("What"), say("Serial")),
        *(say("Number on screen"), say("Revision and firmware")),
    )
    rows = [_standing(row, widths) for row in found]
    return [parts.room(110), *title, parts.table(head, rows, widths)]


def _standing(row: AsBuilt, widths: list[float]) -> list[Cell]:
    soft = ", ".join(part for part in (row.revision, row.firmware) if part)
    return [
        words(str(row.stack), "item", heavy=True),
        words(str(row.level), "item", heavy=True),
        words(row.kind_of.name, "item"),
        words(row.serial or say("not seen"), "item", heavy=True),
        parts.Blank(widths[4] - 12) if row.number is None else words(str(row.number), "item"),
        words(soft) if soft else parts.Blank(widths[5] - 12),
    ]


def _problems(kit: Kit, wide: float) -> list[Flowable]:
    """What is still open; a hand-over that hides it helps nobody."""
    rows: list[list[Cell]] = [
        [
            words(starting(told(one.get_kind_display())), "item", heavy=True),
            words(told(one.words), "item"),
        ]
        for one in open_problems(kit)
    ]
    title = parts.heading(say("Still open"))
    coming: list[Flowable] = [words(one, "item", heavy=True) for one in said.to_come(kit)]
    if not rows:
        return [*title, *coming] if coming else []
    return [
        *title,
        *coming,
        parts.table((say("Problem"), say("What")), rows, [wide * 0.25, wide * 0.75]),
    ]


def _charge(kit: Kit, wide: float) -> list[Flowable]:
    """The charge that units showed before they were joined."""
    asked = joining.asked_of(kit)
    if asked is None:
        return []
    rows: list[list[Cell]] = [
        [words(str(unit), "item"), words(f"{figure(percent)}\u00a0%", "item", heavy=True)]
        for unit, percent in asked.read
    ]
    title = parts.heading(say("Charge before joining"), told(asked.words))
    shown = parts.table((say("Unit"), say("It showed")), rows, [wide * 0.7, wide * 0.3])
    return [parts.room(90), *title, shown if rows else words(say("Nothing was entered."), "item")]


def _tests(wide: float) -> list[Flowable]:
    widths = [wide * share for share in (0.46, 0.26, 0.14, 0.14)]
    rows: list[list[Cell]] = [
        [
            words(say(asked), "item"),
            parts.beside_unit(
                widths[1] - 12, say(unit) if unit.isalpha() and len(unit) > 1 else unit
            ),
            parts.Tick(14),
            parts.Blank(widths[3] - 12),
        ]
        for asked, unit in TESTS
    ]
    return [
        parts.room(160),
        *parts.heading(say("Measured at the site"), say(DECIDES)),
        parts.table((say("Test"), say("Reading"), say("Done"), say("By")), rows, widths),
        parts.written_facts([(say("Meter"), ""), (say("Its calibration due"), "")], wide),
    ]


def _signed(kit: Kit, wide: float) -> list[Flowable]:
    """The signature that was drawn on the screen; erased, its day stands alone."""
    found = handing_over.signed(kit)
    if found is None:
        return []
    named = found.name or say("name erased or not given")
    line = say("Signed on the screen {0}: {1}", moment(found.at), named)
    drawn: list[Flowable] = []
    if found.photo is not None:
        try:
            picture = io.BytesIO(photos.bytes_of(found.photo))
        except FileNotFoundError:
            return [parts.gap(6), words(line, "item")]
        size = SIGNATURE * paper.MM
        drawn = [Image(picture, size, size / 2, kind="proportional", hAlign="LEFT")]
    return [parts.together(parts.gap(6), words(line, "item"), *drawn)]


def _buses(kit: Kit, wide: float) -> list[Flowable]:
    """The ohms of the data lines, as they were measured with everything switched off."""
    found = [line for line in bus_measuring.lines_of(kit) if line.ohm is not None]
    if not found:
        return []
    rows: list[list[Cell]] = [
        [
            words(told(line.name), "item"),
            words(f"{figure(line.ohm or 0)}\u00a0{say('ohm')}", "item", heavy=True),
            words(told(line.words)),
        ]
        for line in found
    ]
    widths = [wide * share for share in (0.3, 0.2, 0.5)]
    return [
        parts.room(90),
        *parts.heading(say("Ends of the data lines")),
        parts.table((say("Line"), say("It showed"), say("What that says")), rows, widths),
    ]


def _ticked(kit: Kit, wide: float) -> list[Flowable]:
    """What was looked over as a whole, and by whom; what was not stands there, too."""
    rows: list[list[Cell]] = [
        [words(str(one.asked.stack), "item"), words(say(one.asked.words), "item"), words(_by(one))]
        for one in ticking.wanted_of(kit)
    ]
    if not rows:
        return []
    widths = [wide * share for share in (0.12, 0.5, 0.38)]
    title = parts.heading(say("Looked over"))
    return [
        parts.room(90),
        *title,
        parts.table((say("Stack"), say("What"), say("By whom")), rows, widths),
    ]


def _by(one: ticking.Wanted) -> str:
    if one.row is None:
        return say("not ticked")
    if one.why_not:
        return say("not done: {0} ({1})", told(one.why_not), _named(one.row.event.person))
    by = f"{_named(one.row.event.person)}, {moment(one.row.event.received_at)}"
    return say("{0}, with a photo", by) if one.row.photo else by


def _parts(kit: Kit, wide: float) -> list[Flowable]:
    """What was built in besides what has a serial; spares and what came back are not."""
    totals = [t for t in fold(kit).totals.values() if t.used and t.item.tracking != "serial"]
    if not totals:
        return []
    rows: list[list[Cell]] = [
        [words(measure(t.used, t.item.unit), "item", heavy=True), words(t.item.name, "item")]
        for t in sorted(totals, key=lambda total: total.item.name)
    ]
    title = parts.heading(say("Parts built in"), say("As they were told used."))
    return [*title, parts.table((say("How many"), say("What")), rows, [wide * 0.25, wide * 0.75])]


def _cautions(kit: Kit) -> list[Flowable]:
    """What whoever lives with it has to know first; the maker's manual comes before all of it."""
    each = {caution["words"]: caution["decides"] for caution in kit.snapshot["cautions"]}
    # A caution that runs over to the next page is read by half.
    lines = [
        parts.together(words(f"{told(one)} {say('Who decides: {0}.', told(who))}"))
        for one, who in each.items()
    ]
    return [*parts.heading(say("Cautions"), say(FIRST)), *lines] if lines else []


def _end(kit: Kit, wide: float, mark: dict[str, int | str]) -> list[Flowable]:
    rows = (say("Handed over by"), say("Licensed electrician"), say("Taken over by"))
    stands = say(
        "The record mark at the foot stands for all {0} entries of this firm's record"
        " when this sheet was printed (SHA-256, RFC 9162): whoever changes one afterwards changes"
        " the mark. Names can be erased from the record; the ids on this sheet stay.",
        mark["size"],
    )
    return [
        parts.together(*parts.heading(say("Who")), parts.signatures(rows, wide)),
        *_signed(kit, wide),
        parts.gap(8),
        words(stands, "small"),
    ]

"""What the electronics show, held against what was scanned, both ways.

A serial on a screen is matched by its last characters or by a photo of the screen: typed in full
it would only repeat what somebody thinks that it is.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from inventory.codes.errors import CodeError
from inventory.codes.serials import key
from inventory.intake import Act, Verdict
from inventory.models import Finding, Role, Unit
from inventory.moving import CannotMove, Writing
from inventory.scanning import Thing
from kitting import access, as_built, gates
from kitting.models import AsBuilt, Kit, ScreenReading
from kitting.queries import stands_at

LEAST, MOST = 4, 8  # characters of that end
CAUTION: Final = {
    "words": (
        "Maker's manual first: it has the order in which this system is switched on, and what has "
        "to be tested before. Switching on is for the licensed electrician under the local code."
    ),
    "decides": "the maker's manual, then the licensed electrician",
}
SHOWN: Final = ("unit", "head")  # roles with electronics of their own


def is_shown(writes: Writing) -> bool:
    """Whether the event tells what a screen shows, where others bear a label's code."""
    return writes.line.kind == as_built.SCREEN


def shown(writes: Writing, kit: Kit) -> AsBuilt | None:
    """Keep what the screen shows; return the row of the thing it names, None for none.

    The thing is the one whose serial ends so, or with a photo the one at the event's position.
    """
    line = writes.line
    if line.text:
        row = _ending(kit, line.text)
    elif line.photo and line.position is not None:
        row = as_built.at(kit.job.site.place, line.position.stack, line.position.level)
        if row is None or row.unit is None:
            raise CannotMove("Nothing was scanned into that place yet. Scan it on the page Fit")
    else:
        raise CannotMove(
            f"Type the last {LEAST} characters that the screen shows, or choose the place and "
            "photograph the screen"
        )
    # The scan names what the end stands for; by itself it may be some other thing's code.
    writes.thing = Thing("unknown", line.text)
    if row is not None and row.unit is not None:
        writes.thing = Thing("unit", line.text, unit=row.unit, item=row.kind_of)
    note(writes, kit, row.unit if row is not None else None)
    return row


def note(writes: Writing, kit: Kit, unit: Unit | None) -> None:
    """Keep one reading; what stood open about it is answered."""
    line = writes.line
    ends = line.text[:MOST] if is_shown(writes) else ""
    ScreenReading.objects.create(
        event=writes.event,
        kit=kit,
        unit=unit,
        ends=ends,
        number=line.number,
        firmware=as_built.firmware_of(line)[:60],
        photo=line.photo,
    )
    if unit is not None:
        settle(writes, kit, unit)


def settle(writes: Writing, kit: Kit, unit: Unit) -> None:
    """Answer what was open because this thing was not on the screen, or not scanned yet."""
    about = Finding.objects.filter(subject=kit.subject, kind=Finding.Kind.WRONG, answer=None)
    about = about.filter(event__step__in=("commission", "compare_screen"))
    on_screen = ScreenReading.objects.filter(kit=kit, unit=unit, event__reversed_by=None).exists()
    for finding in about.select_related("event__screen_reading"):
        read = getattr(finding.event, "screen_reading", None)
        if read is not None and read.unit_id is None and ends_so(unit, read.ends):
            writes.answer(finding, f"{unit} was scanned.")
        elif read is None and finding.unit_id == unit.pk and on_screen:
            writes.answer(finding, f"{unit} is on the screen.")


def _ending(kit: Kit, text: str) -> AsBuilt | None:
    """The one standing thing whose serial ends so."""
    try:
        typed = key(text)
    except CodeError as error:
        raise CannotMove(str(error)) from None
    if len(typed) > MOST:
        raise CannotMove(
            f"Expected the last {LEAST} to {MOST} characters, got {len(typed)}: a serial is "
            "scanned, never typed in full"
        )
    found = [row for row in _electronics(kit) if row.unit is not None]
    found = [row for row in found if row.unit is not None and ends_so(row.unit, typed)]
    if len(found) > 1:
        named = ", ".join(f"{row.unit} at {_where(row)}" for row in found)
        raise CannotMove(f"More than one thing here ends so: {named}. Type more of it")
    if not found and len(typed) < LEAST:
        raise CannotMove(f"Expected the last {LEAST} to {MOST} characters, got {len(typed)}")
    return found[0] if found else None


def ends_so(unit: Unit, ends: str) -> bool:
    """Whether its serial ends so; fewer than LEAST characters have to be the whole of it."""
    serial, ends = unit.serial_key.upper(), ends.replace(" ", "").upper()
    return serial == ends or (len(ends) >= LEAST and serial.endswith(ends))


def _electronics(kit: Kit) -> list[AsBuilt]:
    return [row for row in stands_at(kit.job.site.place) if row.role in SHOWN]


def _where(row: AsBuilt) -> str:
    return f"stack {row.stack}, place {row.level}"


@dataclass(frozen=True, slots=True)
class Row:
    """One thing with electronics, as it stands and as the screen shows it."""

    stands: AsBuilt
    read: bool
    number: int | None
    firmware: str
    photo: str  # of the screen, "" for none

    @property
    def value(self) -> str:
        """Its place as a form sends it."""
        return f"{self.stands.stack}/{self.stands.level}"


@dataclass(frozen=True, slots=True)
class Compared:
    """What stands beside what the screen shows.

    Serials that were not read yet are not told on the page: who reads a screen is not shown what
    it should show.
    """

    rows: tuple[Row, ...]
    strangers: tuple[ScreenReading, ...]  # on the screen, not scanned
    order: str  # where numbers do not follow the places, "" where they do
    firmwares: tuple[tuple[str, str, int], ...]  # item, firmware, how many; only where they differ

    @property
    def read(self) -> list[Row]:
        """Scanned and on the screen."""
        return [row for row in self.rows if row.read]

    @property
    def unread(self) -> list[Row]:
        """Scanned, not on the screen (yet)."""
        return [row for row in self.rows if not row.read]

    @property
    def agrees(self) -> bool:
        """Whether both lists have the same things."""
        return bool(self.rows) and not self.unread and not self.strangers

    @property
    def firmware(self) -> str:
        """What was read last: the next one likely shows the same."""
        return next((row.firmware for row in reversed(self.rows) if row.firmware), "")


def compare(kit: Kit) -> Compared:
    """Hold what was read off the screen on this job against what stands at the site."""
    readings = ScreenReading.objects.filter(kit=kit, event__reversed_by=None)
    standing = _electronics(kit)
    latest: dict[int, ScreenReading] = {}
    strangers: dict[str, ScreenReading] = {}
    for read in readings.select_related("unit__item", "event").order_by("pk"):
        unit = read.unit_id or _named_since(read, standing)
        if unit is not None:
            latest[unit] = read
        else:
            strangers[read.ends.upper()] = read
    rows = tuple(_row(row, latest.get(row.unit_id or 0)) for row in standing)
    return Compared(rows, tuple(strangers.values()), _order(rows), _firmwares(rows))


def _named_since(read: ScreenReading, standing: Sequence[AsBuilt]) -> int | None:
    """What was scanned into its place after it was read off the screen."""
    units = [row.unit for row in standing if row.unit is not None]
    found = [unit.pk for unit in units if ends_so(unit, read.ends)]
    return found[0] if len(found) == 1 else None


def _row(row: AsBuilt, read: ScreenReading | None) -> Row:
    plain = Row(row, False, row.number, row.firmware, "")
    if read is None:
        return plain
    number = read.number if read.number is not None else row.number
    firmware = read.firmware or row.firmware
    return replace(plain, read=True, number=number, firmware=firmware, photo=read.photo)


def _order(rows: Sequence[Row]) -> str:
    """Say where numbers run neither from below nor from above; makers number otherwise, too."""
    stacks: dict[int, list[Row]] = {}
    for row in rows:
        if row.number is not None and row.stands.role == "unit":
            stacks.setdefault(row.stands.stack, []).append(row)
    said = []
    for stack, mine in stacks.items():
        numbers = [row.number for row in sorted(mine, key=lambda row: row.stands.level)]
        upward = sorted(n for n in numbers if n is not None)
        if numbers not in (upward, upward[::-1]):
            said.append(f"stack {stack} from below: {', '.join(map(str, numbers))}")
    return "; ".join(said)


def _firmwares(rows: Sequence[Row]) -> tuple[tuple[str, str, int], ...]:
    counts: dict[str, dict[str, int]] = {}
    for row in rows:
        if row.firmware:
            mine = counts.setdefault(row.stands.kind_of.name, {})
            mine[row.firmware] = mine.get(row.firmware, 0) + 1
    return tuple(
        (name, firmware, count)
        for name, mine in counts.items()
        if len(mine) > 1
        for firmware, count in mine.items()
    )


def all_read(writes: Writing) -> Verdict:
    """The screen shows no more: what was scanned and is not on it becomes a problem."""
    kit = gates.open_kit(writes)
    found = compare(kit)
    if not found.rows:
        raise CannotMove("Nothing was scanned into its place yet. Scan it on the page Fit")
    for row in found.unread:
        words = f"{row.stands.what} ({_where(row.stands)}) is not on the screen."
        known = Finding.objects.filter(subject=kit.subject, words=words, answer=None)
        if not known.exists():
            item = row.stands.kind_of if row.stands.unit is None else None
            writes.finding(Finding.Kind.WRONG, words, unit=row.stands.unit, item=item)
    if found.agrees:
        return Verdict("applied", f"All {len(found.rows)} agree: screen and scans.")
    told = [
        f"{len(found.unread)} scanned, not on the screen" if found.unread else "",
        f"{len(found.strangers)} on the screen, not scanned" if found.strangers else "",
    ]
    return Verdict("problem", f"{'; '.join(filter(None, told))}.")


COMPARE = Act("compare_screen", frozenset(Role.values), all_read, allow=access.allow)

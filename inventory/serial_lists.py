"""A supplier's serial file, pasted as text: one line per thing, item, serial and perhaps its box.

All lines are judged before any counts. What a spreadsheet has spoilt is refused by its line.
"""

from __future__ import annotations

import csv
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from inventory.codes import spoilt
from inventory.codes.errors import CodeError
from inventory.codes.serials import key, look_up_key
from inventory.models import Item, ItemCode

MOST = 5000  # lines of one file
LONGEST_BOX = 120  # characters of a box's own code


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the file."""

    item: Item
    serial: str  # as it came
    key: str  # normal form
    box: str  # look-up key of the box's code, empty if the file names none


@dataclass(frozen=True, slots=True)
class Judged:
    """A whole file: its rows, or what is wrong with it line by line."""

    rows: tuple[Row, ...]
    errors: tuple[str, ...]  # "line 3: expected ..., got ..."


def judge(text: str) -> Judged:
    """Read a file of item code or article number, serial and box; raises nothing."""
    lines = [one for one in enumerate(text.splitlines(), 1) if one[1].strip()]
    if len(lines) > MOST:
        return Judged((), (f"expected at most {MOST} lines, got {len(lines)}",))
    by_code = {item.code: item for item in Item.objects.filter(tracking="serial")}
    shared = ItemCode.objects.filter(item__tracking="serial", label_pattern=False)
    by_key = {code.key: code.item for code in shared.select_related("item")}
    rows, numbers, errors, seen = [], [], [], dict[tuple[int, str], int]()
    for number, cells in _cells(lines):
        try:
            row = _row(cells, by_code, by_key)
        except ValueError as error:
            errors.append(f"line {number}: {error}")
            continue
        first = seen.setdefault((row.item.pk, row.key), number)
        if first != number:
            errors.append(f"line {number}: expected each serial once, got that of line {first}")
        rows.append(row)
        numbers.append(number)
    told = among_others((row.item.pk, row.key) for row in rows)
    errors += [f"line {numbers[place]}: {words}" for place, words in sorted(told.items())]
    return Judged(() if errors else tuple(rows), tuple(errors))


def _cells(lines: list[tuple[int, str]]) -> Iterator[tuple[int, list[str]]]:
    """Return each line's number in the file, empty ones counted, and its cells."""
    mark = next((m for m in ("\t", ";", ",") if lines and m in lines[0][1]), ";")
    for number, line in lines:
        # A line by itself: one stray quotation mark must not swallow those after it.
        try:
            cells = next(csv.reader([line], delimiter=mark, strict=True), [])
        except csv.Error:
            cells = [line]
        yield number, [cell.strip() for cell in cells]


def _row(cells: list[str], by_code: dict[str, Item], by_key: dict[str, Item]) -> Row:
    if len(cells) not in (2, 3):
        raise ValueError(f"expected item, serial and perhaps a box, got {len(cells)} columns")
    name, serial, box = [*cells, ""][:3]
    item = by_code.get(name) or by_key.get(look_up_key(name))
    if item is None:
        raise ValueError(f"expected an item with serials, got {name[:40]!r}")
    return Row(item, serial, sound(serial), box_key(box))


def sound(serial: str) -> str:
    """Return the normal form of a serial. Raises ValueError for one that a spreadsheet spoilt."""
    found = spoilt.spoilt(serial.strip())
    if found:
        raise ValueError(f"expected the serial as printed, got {found} {serial[:40]!r}")
    try:
        return key(serial)
    except CodeError as error:
        raise ValueError(error.message) from None


def box_key(box: str) -> str:
    """Return the look-up key of a box's code. Raises ValueError for one that no label holds."""
    found = look_up_key(box)
    if len(found) > LONGEST_BOX:
        raise ValueError(
            f"expected a box's code of at most {LONGEST_BOX} characters, got {len(found)}"
        )
    return found


def among_others(serials: Iterable[tuple[int, str]]) -> dict[int, str]:
    """Return place in the list -> what shows of a serial beside the others of its item.

    serials: item's row id and normal form, in the order of the file.
    """
    by_item = defaultdict[int, dict[str, list[int]]](lambda: defaultdict(list))
    for place, (item, serial) in enumerate(serials):
        by_item[item][serial].append(place)
    told: dict[int, str] = {}
    for places in by_item.values():
        for serial, length in spoilt.lost_zeros(list(places)).items():
            words = f"expected {length} digits as the others have, got {serial[:40]!r}"
            told |= dict.fromkeys(places[serial], f"{words}: zeros in front may be lost")
        for serial in spoilt.cut_digits(list(places)):
            words = f"expected the serial as printed, got {serial[:40]!r}, cut after 15 digits"
            told |= dict.fromkeys(places[serial], words)
    return told

"""A firm's years as rows: every unit is received, put from bin to bin, and goes by van to a site.

The same number of movements always gives the same rows. One event moves one unit; the lines,
sums, numbers, outcomes, scans, holdings and the record mark are those the intake would write, so
`audit` agrees with them. Units of BLOCK move in the same months, as deliveries do.
"""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from itertools import islice

from inventory.ledger import tree

STEPS = 10  # movements of one unit
LOT = 500  # units of one batch
BLOCK = 10_000  # units that move in the same months
ITEMS, BINS, VANS, DEVICES, AT_A_SITE = 20, 200, 40, 20, 20
BEGAN = datetime(2024, 1, 1, tzinfo=UTC)
APART = timedelta(seconds=4)  # from one event to the next
CHUNK = 20_000  # events handed over at a time
SUPPLIER, DEPOT, DOCK = 1, 2, 3  # row ids of places; bins, vans and sites follow
Row = tuple[object, ...]


@dataclass
class Firm:
    """The sizes of a firm, and what its side tables hold in the end."""

    movements: int  # a multiple of STEPS * BLOCK
    holdings: Counter[tuple[int, int]] = field(default_factory=Counter)  # place, lot -> units
    size: int = 0
    peaks: list[bytes] = field(default_factory=list)

    @property
    def units(self) -> int:
        """How many there are; row ids 1 up."""
        return self.movements // STEPS

    @property
    def lots(self) -> int:
        """How many batches; row ids 1 up."""
        return max(1, self.units // LOT)

    @property
    def sites(self) -> int:
        """How many; each gets about AT_A_SITE units."""
        return max(1, self.units // AT_A_SITE)

    @property
    def stocked(self) -> int:
        """From this unit on they are still on the shelf: the last fiftieth."""
        return self.units - self.units // 50

    def lot_of(self, unit: int) -> int:
        """Row id of the batch of a unit."""
        return min((unit - 1) // LOT + 1, self.lots)

    def place(self, unit: int, step: int) -> int:
        """Where a unit stands after its movement `step` (0 up); before that at the supplier."""
        if step < 0:
            return SUPPLIER
        if step == 0:
            return DOCK
        mixed = unit * 2_654_435_761 >> 7
        if step < STEPS - 2 or unit > self.stocked:
            return DOCK + 1 + (mixed + step * 37) % BINS
        if step == STEPS - 2:
            return DOCK + 1 + BINS + mixed % VANS
        return DOCK + 1 + BINS + VANS + mixed % self.sites


def item_of(lot: int) -> int:
    """Row id of the item of a batch."""
    return (lot - 1) % ITEMS + 1


def gtin(item: int) -> str:
    """Article number of an item: 14 digits with the check digit of GS1 (General Specs 7.9)."""
    body = f"0952123{item:06d}"
    weighed = sum(int(digit) * (3 if n % 2 == 0 else 1) for n, digit in enumerate(body))
    return f"{body}{-weighed % 10}"


def serial(unit: int) -> str:
    """Serial of a unit, as printed and as compared."""
    return f"SN{unit:08d}"


def label(firm: Firm, unit: int) -> str:
    """What a scanner reads on a unit (GS1 AIs 01 and 21)."""
    return f"]C101{gtin(item_of(firm.lot_of(unit)))}21{serial(unit)}"


def code(place: int) -> str:
    """What the label of a dock, bin, van or site says."""
    number = place - DOCK
    if number <= 0:
        return ("SUPPLIER", "BENCH", "DOCK")[place - 1]
    if number <= BINS:
        return f"BIN-{number}"
    if number <= BINS + VANS:
        return f"VAN-{number - BINS}"
    return f"SITE-{number - BINS - VANS}"


def device_uid(device: int) -> str:
    """The id of device 1 up."""
    return f"01a00000-0000-7000-8000-{device:012x}"


def chunks(firm: Firm) -> Iterator[dict[str, list[Row]]]:
    """Yield the rows of events and what they caused, table by table, in ledger order."""
    waiting = _rows(firm)
    while part := list(islice(waiting, CHUNK)):
        tables = zip(*part, strict=True)
        yield dict(zip(("event", "outcome", "scan", "movement"), map(list, tables), strict=True))


def _rows(firm: Firm) -> Iterator[tuple[Row, Row, Row, Row]]:
    number = 0
    for first in range(1, firm.units + 1, BLOCK):
        labels = {unit: label(firm, unit) for unit in range(first, first + BLOCK)}
        for step in range(STEPS):
            stride = 7919 + 10 * step  # ends in 9, so it meets each unit of a block once
            for n in range(BLOCK):
                number += 1
                unit = first + n * stride % BLOCK
                yield _event(firm, number, unit, step, labels[unit])


def _event(firm: Firm, number: int, unit: int, step: int, text: str) -> tuple[Row, Row, Row, Row]:
    start, to, lot = firm.place(unit, step - 1), firm.place(unit, step), firm.lot_of(unit)
    moment = BEGAN + number * APART
    stamp = f"{int(moment.timestamp() * 1000):012x}"
    uid = f"{stamp}7000{0x8000_0000_0000_0000 + number:016x}"
    dashed = f"{uid[:8]}-{uid[8:12]}-{uid[12:16]}-{uid[16:20]}-{uid[20:]}"
    device, seq = (number - 1) % DEVICES + 1, (number - 1) // DEVICES + 1
    verb = "put" if step else "receive"
    line = (
        f'{{"v":1,"id":"{dashed}","device":"{device_uid(device)}","seq":{seq},'
        f'"at":"{moment:%Y-%m-%dT%H:%M:%SZ}","step":"{verb}","text":"{text}",'
        f'"via":"symbol","target":"{code(to)}"}}'
    )
    sentence = f"Module {serial(unit)} is now at {code(to)}."
    outcome = f'{{"event":"{dashed}","sentence":"{sentence}","verdict":"applied"}}'
    item = item_of(lot)
    firm.holdings[start, lot] -= 1
    firm.holdings[to, lot] += 1
    leaves = (tree.leaf(line.encode()), tree.leaf(outcome.encode()))
    firm.size, firm.peaks = tree.grow(firm.size, firm.peaks, leaves)
    when = f"{moment:%Y-%m-%d %H:%M:%S}"
    summed = hashlib.sha256(line.encode()).hexdigest()
    return (
        (number, 2 * number - 1, uid, line, summed, verb, 1, device, seq, when, when, ""),
        (number, 2 * number, number, "applied", outcome, sentence),
        (number, number, text, "symbol", "unit" if step else "serial", unit, item, None),
        (number, number, unit, lot, start, to, 1),
    )

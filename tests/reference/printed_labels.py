"""Random labels, and what the standards say a reader must give back of each.

Nothing here asks the product what it should carry: separators stand behind values of variable
length that are not the last, by the GS1 General Specifications' table of pre-defined lengths.
"""

from __future__ import annotations

import random
import string
from dataclasses import dataclass

from inventory.codes import own
from inventory.labels.label import Label

PLAIN = "".join(map(chr, range(33, 127)))  # printable ASCII, the blank apart
SET_82 = string.ascii_letters + string.digits + "!\"%&'()*+,-./:;<=>?_"
FIXED = {"00", "01", "11", "17"}  # of those used here, the pre-defined lengths
LONGEST = 48  # characters of a GS1-128, GS1 General Specifications 5.4.4.3
KINDS = ("bin", "carton", "unit", "parcel", "bag", "kit", "van", "person", "return")
# What every run holds: the fault of WhyNotHugo/python-barcode issue 251, every allowed character,
# the longest, and all in digits, in letters and in pairs; GS1 data with all of set 82 come too.
ALWAYS = (
    *("99", "9900", "99AB", "999", "9" * LONGEST, "9912345678", "99a99"),
    *(PLAIN[:LONGEST], PLAIN[LONGEST:] + " B", "Z" * LONGEST, "0" * LONGEST, "~" * LONGEST),
    *("a", "0", " ".join("abcdefgh"), "A1" * 24),
)


@dataclass(frozen=True, slots=True)
class Printed:
    """A label and the bytes that must come back, separators 0x1D in GS1 data."""

    label: Label
    carried: bytes

    @property
    def gs1(self) -> bool:
        return bool(self.label.pairs)

    @property
    def identifiers(self) -> dict[str, str]:
        """Sort of symbol -> symbology identifier. Source: ISO/IEC 15424."""
        plain, gs1 = ("]C0", "]d1", "]Q1"), ("]C1", "]d2", "]Q3")
        return dict(zip(("linear", "datamatrix", "qr"), gs1 if self.gs1 else plain, strict=True))


def some(number: int, seed: int) -> list[Printed]:
    """So many labels, the same for the same seed; the first are those of ALWAYS."""
    draw = random.Random(seed)
    texts = [_plain(draw, n, code) for n, code in enumerate(ALWAYS)]
    makers = (_own, _gs1, _text, _gs1)
    signs = [SET_82[start : start + 20] for start in range(0, len(SET_82), 20)]
    gs1 = [_element((("01", "09521234543213"), ("21", part)), "datamatrix", 2) for part in signs]
    always = texts + gs1
    return [*always, *(makers[n % 4](draw, n) for n in range(number - len(always)))][:number]


def _plain(draw: random.Random, n: int, code: str) -> Printed:
    title = draw.choice(("Größe", "Señal", "Bay 3, shelf 2", "Straße 12", "W" * 60))
    lines = tuple("A line of small print"[: draw.randint(1, 21)] for _ in range(n % 4))
    matrix = draw.choice(("datamatrix", "qr"))
    label = Label(KINDS[n % len(KINDS)], title, code=code, lines=lines, matrix=matrix)
    return Printed(label, code.encode())


def _own(draw: random.Random, n: int) -> Printed:
    return _plain(draw, n, own.make(draw.choice(list(own.KINDS)), draw.randint(0, own.MOST)))


def _text(draw: random.Random, n: int) -> Printed:
    ends = [draw.choice(PLAIN), draw.choice(PLAIN)]
    inner = "".join(draw.choice(PLAIN + " ") for _ in range(draw.randint(0, LONGEST - 2)))
    return _plain(draw, n, draw.choice(("", "99")) * (len(inner) < 40) + ends[0] + inner + ends[1])


def _gs1(draw: random.Random, n: int) -> Printed:
    digits, set_82 = string.digits, SET_82
    number = "0952" + "".join(draw.choice(digits) for _ in range(10))

    def free(most: int) -> str:
        return "".join(draw.choice(set_82) for _ in range(draw.randint(1, most)))

    pairs = draw.choice(
        (
            (("01", number), ("21", free(20))),
            (("01", number), ("17", "281231"), ("10", free(20))),
            (("01", number), ("10", free(10)), ("21", free(10))),
            (("10", free(20)), ("01", number)),
            (("00", "0" + number + "123"),),
            (("01", number),),
        )
    )
    return _element(pairs, draw.choice(("datamatrix", "qr")), n)


def _element(pairs: tuple[tuple[str, str], ...], matrix: str, n: int) -> Printed:
    last = len(pairs) - 1
    carried = "".join(
        ai + value + ("\x1d" if place < last and ai not in FIXED else "")
        for place, (ai, value) in enumerate(pairs)
    )
    label = Label(KINDS[n % len(KINDS)], "Módulo", pairs=pairs, matrix=matrix)
    return Printed(label, carried.encode())

"""Several codes on one label: what each is, and which of them is the scan.

The maker prints an article number, a serial, a batch, a customer's number side by side; on a box
its own code beside the serial of what is inside. One thing is chosen or nobody is: codes of two
things, or of a thing and a place, are a question. What is not chosen is shown beside it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from inventory.codes.answer import Reading
from inventory.codes.reading import read
from inventory.pictures.accepting import Code
from inventory.scanning import Thing, resolve

RANK = ("unit", "box", "lot", "item", "place")  # the one that says most is the scan
SHOWN = 80  # characters of a text
FIELDS = {
    "gtin": "article number",
    "serial": "serial",
    "lot": "batch",
    "sscc": "number of the parcel",
    "item_supplier": "the maker's number of the item",
    "item_customer": "a customer's number of the item",
    "order": "order",
    "expiry": "use by",
    "quantity": "quantity",
}


@dataclass(frozen=True, slots=True)
class Part:
    """One code of a label."""

    text: str  # as the symbol carries it
    kind: str  # of Thing, or `other`
    words: str  # what it is, for people
    chosen: bool = False  # it is the scan

    def as_json(self) -> dict[str, object]:
        """{"text", "kind", "words", "chosen"}; the text is cut for showing where it is none."""
        text = self.text if self.chosen else self.text[:SHOWN]
        return {"text": text, "kind": self.kind, "words": self.words, "chosen": self.chosen}


@dataclass(frozen=True, slots=True)
class Label:
    """All codes of one label; at most one is chosen."""

    parts: tuple[Part, ...] = ()
    question: str = ""  # why none is chosen; empty where one is

    def as_json(self) -> dict[str, object]:
        """{"codes": [{"text", "kind", "words", "chosen"}], "question"}."""
        return {"codes": [part.as_json() for part in self.parts], "question": self.question}


def classify(codes: Sequence[Code]) -> Label:
    """Say what each code is and choose the scan among those that count (`accepted`).

    The serial is the text that names the unit, by a GS1 element or by the label profile of its
    item. Identical texts in two symbols are one code.
    """
    once = list({code.text: code for code in reversed(codes)}.values())[::-1]
    things = [(code, resolve(code.text, "symbol", code.symbology)) for code in once]
    counted = [(code, thing) for code, thing in things if code.accepted and thing.kind in RANK]
    question = _question([thing for _, thing in counted])
    best = min((thing.kind for _, thing in counted), key=RANK.index, default="")
    chosen = next((code for code, thing in counted if thing.kind == best and not question), None)
    parts = [Part(c.text, _kind(t), _words(c, t), c is chosen) for c, t in things]
    return Label(tuple(sorted(parts, key=lambda part: not part.chosen)), question)


def _question(things: Sequence[Thing]) -> str:
    if not things:
        return "No code we know is in the photo. Go nearer, or type it."
    units = {thing.unit for thing in things if thing.unit}
    lots = {thing.lot for thing in things if thing.lot and thing.kind == "lot"}
    places = {thing.place for thing in things if thing.place}
    items = {thing.item for thing in things if thing.item}
    one = len(units) < 2 and len(lots) < 2 and len(items) < 2 and len(places) < 2
    if one and not (places and items):
        return ""
    return "Codes of several things are in the photo. Go nearer, to one of them."


def _kind(thing: Thing) -> str:
    return thing.kind if thing.kind in (*RANK, "serial") else "other"


def _words(code: Code, thing: Thing) -> str:
    if thing.kind == "unit":
        return f"serial of {thing.name}"
    if thing.kind == "box":
        return f"box of {thing.name}"
    if thing.kind == "serial":
        return f"serial {thing.serial} of {thing.name}, not entered here"
    if thing.kind in ("lot", "item", "place"):
        return thing.name
    return "; ".join(_of_reading(one) for one in _readings(code)) or "nothing we know"


def _readings(code: Code) -> tuple[Reading, ...]:
    return read(code.text, "symbol", context={"symbology": code.symbology}).readings


def _of_reading(reading: Reading) -> str:
    """What a text says that names nothing of ours: `batch L7, use by 2027-01-31`."""
    said = [f"{FIELDS[name]} {value}" for name, value in reading.fields.items() if name in FIELDS]
    return ", ".join(said) or "a code of another scheme"

"""Somebody at work: browser, device and eyes together, each scan one event over HTTP."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Any

from django.db import connection

from inventory import labelling
from inventory.labels.label import Label
from inventory.models import Place, Unit
from inventory.scanning import resolve
from kitting.demo.eyes import Eyes
from kitting.demo.hand import Hand
from kitting.demo.tally import Tally
from kitting.demo.visitor import Unexpected, Visitor

DONE = ("applied",)
Result = dict[str, Any]


@dataclass(slots=True)
class Worker:
    """One person at the bench (a scanner that types) or on site (a phone that photographs)."""

    name: str
    browser: Visitor
    hand: Hand
    eyes: Eyes
    tally: Tally
    by_phone: bool = False

    def look(self, label: Label) -> tuple[str, str]:
        """Read a label; return the text and how it came."""
        return self.eyes.phone(label, self.browser) if self.by_phone else self.eyes.scanner(label)

    def look_ahead(self, labels: Sequence[Label]) -> Iterator[tuple[str, str]]:
        """Read labels in their order, the next ones while the server works on the one before."""
        with ThreadPoolExecutor(1) as pool:
            yield from pool.map(self._look_aside, labels)

    def _look_aside(self, label: Label) -> tuple[str, str]:
        try:
            return self.look(label)
        finally:
            connection.close()  # that of this thread

    def scan(self, step: str, label: Label, expected: Sequence[str] = DONE, **more: Any) -> Result:
        """Scan a label for a step; the verdict has to be one of those expected."""
        return self.send(self.read(step, label, **more), expected)

    def read(self, step: str, label: Label, **more: Any) -> str:
        """Scan a label and keep the event, as a phone does without a signal."""
        return self.hand.line(step, *self.look(label), **more)

    def tap(self, step: str, text: str = "", expected: Sequence[str] = DONE, **more: Any) -> Result:
        """Press a button or choose from a list instead of scanning."""
        return self.send(self.hand.line(step, text, "tap", **more), expected)

    def send(self, line: str, expected: Sequence[str] = DONE) -> Result:
        """Send one event; return what became of it."""
        return self.send_all([line], expected)[0]

    def send_all(self, lines: Sequence[str], expected: Sequence[str] = DONE) -> list[Result]:
        """Send a batch; every verdict has to be one of those expected."""
        results = self.browser.send_events(lines)
        for result, line in zip(results, lines, strict=True):
            if result["verdict"] not in expected:
                raise Unexpected(
                    f"{self.name}: {line}: expected {' or '.join(expected)}, "
                    f"got {result['verdict']}: {result['sentence']}"
                )
            self.tally.scans += '"text":' in line
            self.tally.refused += result["verdict"] in ("stopped", "refused")
            self.tally.duplicates += bool(result["duplicate"])
        return results


def label_of(text: str) -> Label:
    """Return the label of something we have, as the labels page draws it."""
    return labelling.label_of(resolve(text, "symbol"))


def label_of_unit(unit: Unit) -> Label:
    """Return the label on a thing itself."""
    return labelling.of_unit(unit)


def label_outside(unit: Unit) -> Label:
    """Return the label that is seen first: the box's if the thing stands in one."""
    box = unit.place if unit.place is not None and unit.place.kind == "carton" else None
    return labelling.of_place(box) if box is not None else labelling.of_unit(unit)


def label_of_place(place: Place) -> Label:
    """Return the label of a bin, van, parcel or bag."""
    return labelling.of_place(place)

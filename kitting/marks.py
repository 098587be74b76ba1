"""Marks of steps that nobody scanned: set when a later step comes first, filled by the late one."""

from __future__ import annotations

from collections.abc import Iterable

from inventory.models import Finding, Item, Place, Unit
from inventory.moving import Writing

WORDS = {
    "pick": "Picking was not scanned",
    "load": "Loading was not scanned",
    "unbox": "Unboxing was not scanned",
    "fit": "Fitting was not scanned",
}


def skip(
    writes: Writing,
    steps: Iterable[str],
    *,
    unit: Unit | None = None,
    item: Item | None = None,
    place: Place | None = None,
    quantity: int = 1,
) -> str:
    """Mark these steps as not seen for a thing; return the marks in words, "" for none."""
    said = []
    for step in steps:
        thing = unit or item or place
        words = f"{WORDS[step]}: {thing}."
        writes.finding(
            Finding.Kind.SKIPPED, words, unit=unit, item=item, place=place, quantity=quantity
        )
        said.append(f"{WORDS[step]}.")
    return " ".join(said)


def fill(
    writes: Writing,
    step: str,
    *,
    unit: Unit | None = None,
    item: Item | None = None,
    place: Place | None = None,
) -> Finding | None:
    """Answer the open mark of this step for a thing, as the scan has come after all."""
    marks = Finding.objects.filter(
        kind=Finding.Kind.SKIPPED,
        subject=writes.line.subject,
        words__startswith=WORDS.get(step, step),
        answer=None,
    )
    if unit is not None:
        marks = marks.filter(unit=unit)
    elif place is not None:
        marks = marks.filter(place=place)
    else:
        marks = marks.filter(item=item, unit=None)
    mark = marks.order_by("pk").first()
    if mark is not None:
        writes.answer(mark, "The scan came later.")
    return mark

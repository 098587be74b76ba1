"""What the book would not have had and the hand did: it counts, the answer says so, somebody looks.

An act notes it while it decides; the intake tells it once the act has gone through.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from inventory.models import Finding, Item, Place, Unit

if TYPE_CHECKING:
    from inventory.intake import Verdict
    from inventory.moving import Writing

COUNTS = frozenset({"applied", "problem", "noted"})  # verdicts of an act that has gone through


@dataclass(frozen=True, slots=True)
class Odd:
    """One such thing."""

    words: str  # whole sentences
    kind: str  # of the problem that it opens
    unit: Unit | None = None
    item: Item | None = None
    place: Place | None = None
    quantity: int = 1  # base units of the item


def note_odd(
    writes: Writing,
    words: str,
    kind: str = Finding.Kind.WRONG,
    *,
    unit: Unit | None = None,
    item: Item | None = None,
    place: Place | None = None,
    quantity: int = 1,
) -> None:
    """Note it beside the event that is being carried out. words: whole sentences."""
    writes.odd.append(Odd(words, kind, unit, item, place, quantity))


def told(writes: Writing, verdict: Verdict) -> Verdict:
    """Open a problem for each and say it with the verdict of the act, which has gone through.

    Where the act only found it done before, none that is open already is opened again.
    """
    if not writes.odd or verdict.word not in COUNTS:
        return verdict
    asked = Finding.objects.filter(subject=writes.line.subject, answer=None)
    for one in (noted := list(dict.fromkeys(writes.odd))):
        if verdict.word == "noted" and asked.filter(words=one.words[:300]).exists():
            continue
        writes.finding(
            one.kind,
            one.words,
            unit=one.unit,
            item=one.item,
            place=one.place,
            quantity=one.quantity,
        )
    said = " ".join([verdict.sentence, *(one.words for one in noted)])
    return replace(verdict, word="problem", sentence=said)

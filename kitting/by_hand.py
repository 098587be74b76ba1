"""What people changed of a job's lines, laid over what the engine says: both stay to be seen."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from typing import Any

from django.db.models import QuerySet

from inventory.models import Item
from inventory.words import measure
from kitting.models import HandLine, Job, Kit
from kitting.snapshot import WorkedOut

NEED = "by hand"
Key = tuple[str, str]  # item code, step


@dataclass(frozen=True, slots=True)
class Beside:
    """One line with what the parts list says and what the hand made of it."""

    hand: HandLine
    engine: int  # base units by the parts list, 0 = no such line
    now: int  # base units after the change, 0 = no line
    together: int = 1  # lines that were changed as one with it, itself among them
    first: bool = True  # of these


def open_ones(job: Job) -> QuerySet[HandLine]:
    """Return the changes by hand that were not taken back, oldest first."""
    rows = HandLine.objects.filter(job=job, reverses=None, reversed_by=None)
    return rows.select_related("item", "by").order_by("pk")


def applied(job: Job, result: WorkedOut) -> WorkedOut:
    """Return what was worked out with the changes by hand laid over it.

    The snapshot notes of each what the parts list said and what it is now.
    """
    lines: dict[Key, dict[str, Any]] = {(line["item"], line["step"]): line for line in result.lines}
    engine = {key: int(line["quantity"]) for key, line in lines.items()}
    noted = []
    for hand in open_ones(job):
        key = (hand.item.code, hand.step)
        made = _made(hand, lines.get(key), engine.get(key, 0))
        if made is None:
            lines.pop(key, None)
        else:
            lines[key] = made
        noted.append(
            {
                "uid": str(hand.uid),
                "item": hand.item.code,
                "step": hand.step,
                "engine": engine.get(key, 0),
                "now": made["quantity"] if made else 0,
            }
        )
    snapshot = {**result.snapshot, "by_hand": noted}
    return replace(result, lines=list(lines.values()), snapshot=snapshot)


def _made(hand: HandLine, line: dict[str, Any] | None, engine: int) -> dict[str, Any] | None:
    """The line after one change; None where it is dropped."""
    if hand.verb == HandLine.Verb.DROP:
        return None
    adds = hand.verb == HandLine.Verb.ADD
    there = int(line["quantity"]) if line is not None else 0
    quantity = hand.quantity + (there if adds else 0)
    known = line or _bare(hand.item, hand.step)
    pieces = list(hand.pieces) or ([hand.quantity] if hand.item.unit == "mm" else [])
    before = measure(engine, hand.item.unit) if engine else "none"
    now = f"{measure(quantity, hand.item.unit)}{in_pieces(hand)}"
    told = f"{before} by the parts list, {now} by hand: {hand.reason}"
    reason = {"need": NEED, "rule": "hand", "arithmetic": told, "source": ""}
    return {
        **known,
        "quantity": quantity,
        "pieces": [*known["pieces"], *pieces] if adds else pieces,
        "alternatives": known["alternatives"] if adds else [],
        "reasons": [*known["reasons"], reason],
    }


def in_pieces(hand: HandLine) -> str:
    """Say into which pieces a change divides a length, "" where it is one."""
    pieces = " + ".join(measure(mm, "mm") for mm in hand.pieces)
    return f" ({pieces})" if len(hand.pieces) > 1 else ""


def _bare(item: Item, step: str) -> dict[str, Any]:
    """A line of an item that the parts list does not name there."""
    told = {"item": item.code, "name": item.name, "tracking": item.tracking, "unit": item.unit}
    return {**told, "step": step, "quantity": 0, "reasons": [], "pieces": [], "alternatives": []}


def notes(kit: Kit) -> list[dict[str, Any]]:
    """Return what a kit's snapshot notes of each change by hand, as `applied` wrote it."""
    return list(kit.snapshot.get("by_hand", ()))


def beside(kit: Kit) -> list[Beside]:
    """Return the changes by hand of a kit, each with the engine's figure beside the hand's; those
    that were changed as one stand together."""
    entries = {entry["uid"]: entry for entry in notes(kit)}
    hands = HandLine.objects.filter(uid__in=list(entries)).select_related("item", "by")
    sets: dict[object, list[HandLine]] = defaultdict(list)
    for hand in hands.order_by("pk"):
        sets[hand.pair or hand.pk].append(hand)
    return [
        Beside(
            hand,
            entries[str(hand.uid)]["engine"],
            entries[str(hand.uid)]["now"],
            len(as_one),
            hand is as_one[0],
        )
        for as_one in sets.values()
        for hand in as_one
    ]

"""What a crew told missing by number: how much is open, and which of it a scan settles."""

from __future__ import annotations

from collections.abc import Iterable

from inventory.models import Finding, Item
from inventory.moving import Writing
from inventory.words import amount

Kind = Finding.Kind


def told(writes: Writing, item: Item) -> list[Finding]:
    """Return what of an item is told missing and not settled; a bag is looked for whole."""
    subject = writes.line.subject
    found = Finding.objects.filter(kind=Kind.MISSING, subject=subject, item=item, answer=None)
    return list(found.filter(unit=None, place=None).order_by("pk"))


def settle(
    writes: Writing, item: Item, lost: Iterable[Finding], quantity: int, how: str
) -> list[tuple[Finding, int]]:
    """Answer up to this quantity of it, the oldest first; what is not stays missing.

    how: what became of it, after "2 x bracket". Returns each finding with its part.
    """
    left, parts = quantity, []
    for finding in lost:
        part = min(left, finding.quantity)
        if not part:
            break
        writes.answer(finding, f"{amount(part, item)} {how}.")
        rest = finding.quantity - part
        if rest:
            said = f"{amount(rest, item)} missing."
            writes.finding(Kind.MISSING, said, item=item, quantity=rest)
        parts.append((finding, part))
        left -= part
    return parts

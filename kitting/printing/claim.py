"""A claim on paper: what it is about, what it needs and what lacks, its course, the thing's chain.

Another firm reads it: it says what the record has and who said the rest, and bears the record mark.
"""

from __future__ import annotations

from collections.abc import Sequence

from reportlab.platypus import Flowable

from inventory import claims
from inventory.claim_needs import Entry, entries
from inventory.models import Claim, ClaimStep
from inventory.queries import latest_mark
from inventory.return_lists import money
from inventory.tracing import Chain
from kitting.printing import paper, parts
from kitting.printing.parts import Cell, words


def pdf(claim: Claim, chain: Chain | None, size: str) -> bytes:
    """The claim as a sheet. size: one of paper.SIZES."""
    mark, opened = latest_mark(), claim.event.received_at
    running = paper.Running(
        f"Claim {claim.code}", f"opened {opened:%-d %b %Y}", paper.mark_words(mark)
    )
    wide = paper.width(size)
    content = [
        *_head(claim, wide),
        *_needs(entries(claim), wide),
        *_course(claim, wide),
        *_chain(chain, wide),
    ]
    return paper.written(content, running, size)


def _head(claim: Claim, wide: float) -> list[Flowable]:
    approval = claims.approval(claim)
    expected, credited = money(claim)
    rows = [
        ("Put to", str(claims.partner_of(claim) or "nobody yet")),
        ("About", claim.get_about_display()),
        ("In words", claim.words),
        ("Thing", str(claim.unit or claim.lot or "the delivery")),
        ("Delivery", str(claim.delivery) if claim.delivery is not None else "not entered"),
        ("Opened by", claim.event.person.name),
        ("Your number", approval.value if approval is not None else "not given yet"),
        ("Asked for", f"{expected / 100:,.2f}" if expected else "not said yet"),
        ("Credited", f"{credited / 100:,.2f}" if credited else "nothing yet"),
    ]
    if claim.unit is not None:
        rows.append(("Kept for you until", f"{claims.kept_until(claim):%-d %b %Y}"))
    return [words(f"Claim {claim.code}", "huge", heavy=True), parts.gap(8), parts.facts(rows, wide)]


def _needs(found: Sequence[Entry], wide: float) -> list[Flowable]:
    lacking = [entry.words for entry in found if entry.missing]
    told = f"Missing: {'; '.join(lacking)}." if lacking else "Nothing is missing."
    rows: list[list[Cell]] = [
        [
            words(entry.words, "item", heavy=True),
            words(entry.value or ("see the photo" if entry.photo else "MISSING"), "item"),
            words(entry.how),
        ]
        for entry in found
    ]
    widths = [wide * share for share in (0.36, 0.46, 0.18)]
    head = ("What", "What is known", "How")
    return [*parts.heading("What the claim needs", told), parts.table(head, rows, widths)]


def _course(claim: Claim, wide: float) -> list[Flowable]:
    steps = ClaimStep.objects.filter(claim=claim).select_related("event__person").order_by("pk")
    rows: list[list[Cell]] = [
        [
            words(f"{step.event.received_at:%-d %b %Y %H:%M} UTC"),
            words(step.words, "item"),
            words(step.event.person.name),
        ]
        for step in steps
    ]
    if not rows:
        return []
    widths = [wide * share for share in (0.24, 0.56, 0.2)]
    return [*parts.heading("Its course"), parts.table(("When", "What", "Who"), rows, widths)]


def _chain(chain: Chain | None, wide: float) -> list[Flowable]:
    if chain is None:
        return []
    rows: list[list[Cell]] = [
        [
            words(str(link.number)),
            words(f"{link.received_at:%-d %b %Y %H:%M} UTC"),
            words(f"{link.sentence}{' (undone later)' if link.undone else ''}", "item"),
            words(f"{link.start} to {link.to}" if link.to else ""),
        ]
        for link in chain.links
    ]
    widths = [wide * share for share in (0.08, 0.2, 0.42, 0.3)]
    told = "Every event that named or moved it, in the order of the record."
    head = ("No.", "When", "What", "From and to")
    return [*parts.heading(f"The chain of {chain.name}", told), parts.table(head, rows, widths)]

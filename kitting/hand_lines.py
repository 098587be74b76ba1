"""Adding, dropping and changing lines by hand, with a reason; the only writer of such changes."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from inventory.ledger.ids import uuid7
from inventory.lock import writing
from inventory.models import Item, Person
from inventory.words import amount
from kitting import changing, packing
from kitting.by_hand import in_pieces
from kitting.models import HandLine, Job, KitChange, Substitute
from kitting.packing import Reason, Refused
from kitting.plan.steps import order

Verb = HandLine.Verb


@dataclass(frozen=True, slots=True)
class Change:
    """One line as it is and as it shall be, base units; 0: no such line."""

    item: Item
    step: str
    before: int
    now: int

    @property
    def verb(self) -> str:
        """What the hand does to the line."""
        if not self.now:
            return Verb.DROP
        return Verb.CHANGE if self.before else Verb.ADD


def put(
    job: Job,
    *,
    item: Item,
    step: str,
    verb: str,
    quantity: int,
    reason: str,
    by: Person,
    pieces: Sequence[int] = (),
) -> HandLine:
    """Change a line of a job's kit; the kit follows at once. Raises Refused, every reason.

    quantity: base units there shall be (change) or that are added; 0 to drop. pieces: mm of each
    piece of a length, together the quantity; without them it is one piece.
    """
    if pieces and (item.unit != "mm" or sum(pieces) != quantity):
        raise ValueError(f"pieces: expected lengths of together {quantity}, got {list(pieces)}")
    return _put(job, [(item, step, verb, quantity)], reason, by, pieces)[0]


def put_all(job: Job, changes: Iterable[Change], reason: str, by: Person) -> list[HandLine]:
    """Change several lines for one reason; the kit follows once, and they are taken back as one.

    Raises Refused, every reason.
    """
    return _put(job, [(one.item, one.step, one.verb, one.now) for one in changes], reason, by)


def _put(
    job: Job,
    wanted: Sequence[tuple[Item, str, str, int]],
    reason: str,
    by: Person,
    pieces: Sequence[int] = (),
) -> list[HandLine]:
    """wanted: item, step, verb, quantity of each line. pieces: of the one line."""
    with writing():
        # Looked at under the lock: meanwhile another may drop the line, or the kit may close.
        faults = [fault for one in wanted for fault in _faults(job, *one, reason)]
        if faults:
            raise Refused(list(dict.fromkeys(faults)))
        shared = {"job": job, "reason": reason[:200], "by": by}
        shared |= {"pair": uuid7() if len(wanted) > 1 else None, "pieces": list(pieces)}
        rows = [
            HandLine.objects.create(item=item, step=step, verb=verb, quantity=quantity, **shared)
            for item, step, verb, quantity in wanted
        ]
        _again(job, by, f"{'; '.join(_said(row) for row in rows)}: {reason}")
    return rows


def exchange(
    job: Job, *, of: Substitute, step: str, quantity: int, more: int, reason: str, by: Person
) -> HandLine:
    """Take `quantity` of an item off a line and put `more` of its substitute there, as one change.

    Both in base units. The kit follows at once. Raises Refused, every reason.
    """
    with writing():
        kit = job.kit
        line = kit.lines.filter(item=of.item, step=step).first() if kit else None
        left = (line.quantity if line else 0) - quantity
        verb = Verb.CHANGE if left > 0 else Verb.DROP
        reasons = _faults(job, of.item, step, verb, max(left, 0), reason)
        if left < 0:
            reasons.append(
                Reason(
                    "quantity", f"How many: expected at most what the line needs, got {quantity}"
                )
            )
        if reasons:
            raise Refused(reasons)
        shared = {"job": job, "step": step, "reason": reason[:200], "by": by}
        shared |= {"pair": uuid7(), "substitute": of}
        HandLine.objects.create(item=of.item, verb=verb, quantity=left, **shared)
        row = HandLine.objects.create(item=of.instead, verb=Verb.ADD, quantity=more, **shared)
        taken = f"{amount(more, of.instead)} for {amount(quantity, of.item)}"
        _again(job, by, f"{taken}: {reason}")
    return row


def take_back(row: HandLine, by: Person, reason: str) -> HandLine:
    """Take a change by hand back, with all that was changed as one with it.

    Raises Refused: it was taken back before.
    """
    if not reason.strip():
        raise Refused([Reason("reason", "Say why: expected a reason, got nothing")])
    with writing():
        if row.reverses_id is not None or HandLine.objects.filter(reverses=row).exists():
            raise Refused([Reason("hand line", "That was taken back before")])
        undone = _reversed(row, by, reason)
        if row.pair is not None:
            for other in HandLine.objects.filter(pair=row.pair, reverses=None).exclude(pk=row.pk):
                _reversed(other, by, reason)
        _again(row.job, by, f"taken back: {_said(row)}: {reason}")
    return undone


def _reversed(row: HandLine, by: Person, reason: str) -> HandLine:
    return HandLine.objects.create(
        job=row.job,
        item=row.item,
        step=row.step,
        verb=row.verb,
        quantity=row.quantity,
        pieces=row.pieces,
        reason=reason[:200],
        by=by,
        reverses=row,
        pair=row.pair,
        substitute=row.substitute,
    )


def _said(row: HandLine) -> str:
    if row.verb == Verb.DROP:
        return f"{row.item.name} dropped"
    return f"{amount(row.quantity, row.item)}{in_pieces(row)} {row.get_verb_display()}"


def _faults(job: Job, item: Item, step: str, verb: str, quantity: int, reason: str) -> list[Reason]:
    kit, reasons = job.kit, []
    if kit is None:
        reasons.append(Reason("kit", f"{job.code} has no kit yet: work it out first"))
    elif kit.closed_by_id is not None:
        reasons.append(Reason("kit", f"{kit.code} is closed and stays as it is"))
    if not reason.strip():
        reasons.append(Reason("reason", "Say why: expected a reason, got nothing"))
    if verb not in Verb.values:
        reasons.append(Reason("verb", f"expected {', '.join(Verb.values)}, got {verb!r}"))
    if (verb == Verb.DROP) != (quantity == 0) or quantity < 0:
        reasons.append(
            Reason("quantity", f"How many: expected 1 or more, 0 to drop it, got {quantity}")
        )
    if step not in order(job.kind):
        reasons.append(Reason("step", f"step: expected one of the job, got {step!r}"))
    there = kit is not None and kit.lines.filter(item=item, step=step).exists()
    if kit is not None and verb == Verb.DROP and not there:
        reasons.append(Reason("item", f"{item.name} is not on this list at that step"))
    return reasons


def _again(job: Job, by: Person, reason: str) -> None:
    """Before release the next kit; after it a change of the kit that is out."""
    kit = job.kit
    assert kit is not None, "looked at before"
    if kit.released_at is None:
        packing.work_out_kit(job, by)
    else:
        asked = kit.snapshot["configuration"]
        changing.change_kit(kit, asked, by, reason[:200], KitChange.Kind.HAND)

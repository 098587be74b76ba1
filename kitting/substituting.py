"""What may stand for an item that is short: decided by a manager within limits, taken line by line.

Taking one is a change of the kit by hand, with who and why; nothing is put in another's place in
silence. The only writer of substitutes.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.conf import settings
from django.db.models import QuerySet, Sum

from inventory.lock import writing
from inventory.models import Item, Person
from kitting import hand_lines, sourcing, still_needed
from kitting.models import HandLine, Kit, KitLine, Substitute, SubstituteEnd
from kitting.packing import Reason, Refused
from kitting.progress import fold
from kitting.shelves import on_shelves


@dataclass(frozen=True, slots=True)
class Instead:
    """What may be taken for a line that is short."""

    line: KitLine
    substitute: Substitute
    quantity: int  # base units of the line's item that it can stand for
    more: int  # base units of the other item that are taken for them
    there: int  # base units of the other item on the shelf, after earlier kits


def decide(by: Person, given: Mapping[str, Any]) -> Substitute:
    """Store that an item may stand for another. given: fields of Substitute. Raises Refused."""
    reasons = _faults(given)
    if reasons:
        raise Refused(reasons)
    with writing():
        return Substitute.objects.create(decided_by=by, **given)


def end(row: Substitute, by: Person, reason: str) -> SubstituteEnd:
    """Say that it may be taken no more; what was taken stays. Raises Refused."""
    with writing():
        if SubstituteEnd.objects.filter(substitute=row).exists():
            raise Refused([Reason("substitute", "That was ended before")])
        if not reason.strip():
            raise Refused([Reason("reason", "Why: expected a reason, got nothing")])
        return SubstituteEnd.objects.create(substitute=row, by=by, reason=reason.strip()[:200])


def known() -> QuerySet[Substitute]:
    """Return all that were ever decided, those that stand first."""
    rows = Substitute.objects.select_related("item", "instead", "decided_by", "end__by")
    return rows.order_by("end__pk", "item__code", "pk")


def instead_of(kit: Kit, short: Mapping[int, int]) -> list[Instead]:
    """Return what may be taken. short: line id -> base units that no shelf has for it."""
    lines = {line.pk: line for line in kit.lines.select_related("item").filter(pk__in=list(short))}
    rows = Substitute.objects.for_job(kit.job).filter(item__in=[x.item_id for x in lines.values()])
    able = [(line, row) for row in rows for line in lines.values() if _may(kit, line, row)]
    free = _free({row.instead for _, row in able}, kit)
    found = []
    for line, row in able:
        there = free[row.instead_id]
        quantity = min(short[line.pk], _left(kit, row), there // row.takes * row.each)
        quantity -= quantity % row.each if quantity != short[line.pk] else 0
        # A length is one piece: all of the line, or nothing.
        if quantity > 0 and (line.unit != "mm" or quantity == line.quantity):
            found.append(Instead(line, row, quantity, _more(row, quantity), there))
    return found


def take(kit: Kit, line: KitLine, row: Substitute, quantity: int, by: Person, why: str) -> HandLine:
    """Take a substitute for so many base units of a line. Raises Refused, every reason."""
    with writing():
        open_ones = {progress.line.pk: progress.to_pick for progress in fold(kit).lines}
        offer = next(
            (
                one
                for one in instead_of(kit, {line.pk: open_ones.get(line.pk, 0)})
                if one.substitute.pk == row.pk
            ),
            None,
        )
        most = offer.quantity if offer else 0
        if not 0 < quantity <= most:
            told = f"{row}: expected 1 to {most} of {row.item.name}, got {quantity}"
            raise Refused([Reason("substitute", told if most else f"{row}: may not be taken here")])
        until = f" until {row.until:%-d %b %Y}" if row.until else ""
        reason = f"instead of {row.item.name}, decided by {row.decided_by.name}{until}: {why}"
        return hand_lines.exchange(
            kit.job,
            of=row,
            step=line.step,
            quantity=quantity,
            more=_more(row, quantity),
            reason=reason if why.strip() else "",
            by=by,
        )


def _more(row: Substitute, quantity: int) -> int:
    """Base units of the other item for so many of the item, rounded up."""
    return -(-quantity * row.takes // row.each)


def _may(kit: Kit, line: KitLine, row: Substitute) -> bool:
    """Whether a substitute's limits let this line take it."""
    edition = kit.edition.edition.isoformat()
    told = [reason["need"] for reason in line.reasons]  # "fix to wall: bracket"
    needs = {*told, *(need.partition(":")[0] for need in told)}
    return (
        row.item_id == line.item_id
        and not line.spare
        # A cut length is one piece, never a sum.
        and len(line.whole) <= 1
        and (not row.families or kit.edition.name in row.families)
        and (not row.editions or edition in row.editions)
        and (not row.regions or settings.CODE in row.regions)
        and (not row.needs or bool(needs & set(row.needs)))
    )


def _left(kit: Kit, row: Substitute) -> int:
    """How many base units of the item it may still stand for in this kit."""
    if row.most is None:
        return 2**62
    rows = HandLine.objects.filter(job=kit.job, substitute=row, item=row.instead)
    taken = rows.filter(reverses=None, reversed_by=None).aggregate(all=Sum("quantity"))["all"] or 0
    return max(row.most - taken * row.each // row.takes, 0)


def _free(items: Iterable[Item], kit: Kit) -> dict[int, int]:
    """Item id -> base units on the shelves that no kit with an older claim waits for; of a length
    those of the longest piece that is left when this kit too has cut its own."""
    wanted = list(items)
    there = on_shelves(item.pk for item in wanted)
    free = {
        item.pk: sum(s.quantity for s in there.get(item.pk, ()) if not s.expired(kit.job.date))
        for item in wanted
    }
    for need in still_needed.needs(wanted, fold(kit)):
        if need.kit.pk == kit.pk:
            break
        free[need.item.pk] = max(free[need.item.pk] - need.quantity, 0)
    cut = [item.pk for item in wanted if item.unit == "mm"]
    if cut:
        rack = sourcing.rack_after([*sourcing.served_before(kit), kit], there)
        free |= {pk: rack.longest(pk) for pk in cut}
    return free


def _faults(given: Mapping[str, Any]) -> list[Reason]:
    item, instead, reasons = given["item"], given["instead"], []
    if item.pk == instead.pk:
        reasons.append(Reason("instead", "Instead: expected another item, got the same"))
    if item.unit != instead.unit:
        reasons.append(
            Reason(
                "instead",
                f"Instead: expected an item counted in {item.get_unit_display()}, got one in "
                f"{instead.get_unit_display()}",
            )
        )
    if given.get("until") and given["until"] < given["since"]:
        reasons.append(Reason("until", "Until: expected a day after the first, got an earlier one"))
    if not str(given.get("reason", "")).strip():
        reasons.append(Reason("reason", "Why: expected a reason, got nothing"))
    return reasons

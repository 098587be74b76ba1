"""A manager pins a unit to a kit: it is offered to no other, and stopped if another takes it."""

from __future__ import annotations

from inventory.lock import writing
from inventory.models import Person, Unit
from kitting.models import Kit, Pin
from kitting.packing import Reason, Refused


def pin(kit: Kit, unit: Unit, by: Person, reason: str) -> Pin:
    """Pin a unit to an open kit. Raises Refused with every reason."""
    with writing():
        kit.refresh_from_db()
        reasons = _faults(kit, unit, reason)
        if reasons:
            raise Refused(reasons)
        return Pin.objects.create(kit=kit, unit=unit, by=by, reason=reason.strip()[:200])


def take_out(row: Pin, by: Person, reason: str) -> Pin:
    """Take a pin out again. Raises Refused: it was taken out before."""
    with writing():
        if row.reverses_id is not None or Pin.objects.filter(reverses=row).exists():
            raise Refused([Reason("pin", "That was taken out before")])
        why = reason.strip()[:200] or "taken out"
        return Pin.objects.create(kit=row.kit, unit=row.unit, by=by, reason=why, reverses=row)


def _faults(kit: Kit, unit: Unit, reason: str) -> list[Reason]:
    reasons = []
    if kit.closed_by_id is not None or kit.job.cancelled_at is not None:
        reasons.append(Reason("kit", f"{kit.code}: expected an open kit, got one that is over"))
    if not kit.lines.filter(item=unit.item_id).exists():
        reasons.append(Reason("serial", f"{unit} is on no line of {kit.code}"))
    held = Pin.objects.standing().filter(unit=unit).select_related("kit").first()
    if held is not None:
        reasons.append(Reason("serial", f"{unit} is pinned to {held.kit.code}"))
    if not reason.strip():
        reasons.append(Reason("reason", "Why: expected a reason, got nothing"))
    return reasons

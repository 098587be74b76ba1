"""The charge that units show before they are joined, and whether they may be joined by it."""

from __future__ import annotations

from dataclasses import dataclass

from inventory.intake import Act, Verdict
from inventory.models import Finding, Role, Unit
from inventory.moving import CannotMove, Writing
from inventory.scanning import Thing
from kitting import access, as_built, gates, screens
from kitting.models import AsBuilt, ChargeReading, JobKind, Kit
from kitting.plan.charge import Charge
from kitting.queries import left_of, stands_at
from kitting.snapshot import Position

JOINING = (JobKind.EXPANSION, JobKind.SWAP)


def charge(writes: Writing) -> Verdict:
    """Keep the charge in percent ("number") that a scanned unit shows."""
    kit = gates.open_kit(writes)
    unit, percent = _named(writes, kit), writes.line.number
    if percent is None or percent > 100:
        raise CannotMove("Say what it shows: a charge from 0 to 100 percent")
    window = window_of(kit)
    if window is None:
        raise CannotMove(f"{kit.code} joins no module to others: no charge is asked")
    row = as_built.of(unit)
    site = kit.job.site.place_id
    if row is not None and row.site_id != site:
        raise CannotMove(f"{unit} stands at another site by the record")
    stack = row.stack if row is not None else 0
    beside = tuple(_readings(kit, unit).values())
    ChargeReading.objects.create(
        event=writes.event, kit=kit, unit=unit, stack=stack, percent=percent
    )
    for old in _open_findings(kit):
        if old.unit_id == unit.pk:
            writes.answer(old, f"It was read again: {percent} %.")
        elif old.unit is not None and not _fault(kit, window, old.unit):
            writes.answer(old, f"{unit} was read again: {percent} %.")
    fault = window.fault(percent, beside)
    if fault:
        words = f"{unit}: {fault}. Bring them together before they are joined."
        writes.finding(Finding.Kind.WRONG, words, unit=unit)
        return Verdict("problem", words)
    return Verdict("applied", f"{unit} shows {percent} %.")


def _named(writes: Writing, kit: Kit) -> Unit:
    """The module whose label was scanned, or whose serial ends as it was typed off a screen."""
    thing, text = writes.thing, writes.line.text
    if thing.unit is not None or thing.place is not None or not text:
        return gates.own_label(writes)
    found = [unit for unit in _modules(kit) if screens.ends_so(unit, text)]
    if len(found) > 1:
        named = ", ".join(map(str, found))
        raise CannotMove(f"More than one thing here ends so: {named}. Type more of it")
    if found:
        writes.thing = Thing("unit", text, unit=found[0], item=found[0].item)
    return gates.own_label(writes)


def _modules(kit: Kit) -> list[Unit]:
    """What stands in the stacks and what of the kit lies loose beside them."""
    site = kit.job.site.place
    stands = [row.unit for row in stands_at(site) if row.role == "unit" and row.unit is not None]
    loose = [one.unit for one in left_of(kit) if one.unit is not None and one.place.pk == site.pk]
    return list({unit.pk: unit for unit in (*stands, *loose)}.values())


def _open_findings(kit: Kit) -> list[Finding]:
    found = Finding.objects.filter(
        subject=kit.subject, kind=Finding.Kind.WRONG, event__step="charge", answer=None
    )
    return list(found.filter(event__reversed_by=None).select_related("unit"))


def _fault(kit: Kit, window: Charge, unit: Unit) -> str:
    """What is wrong with what a unit showed last, beside what the others show now; "" for nothing.

    One that is too far from another is right once that other was read again.
    """
    percent = reading(kit, unit)
    if percent is None:
        return ""
    return window.fault(percent, tuple(_readings(kit, unit).values()))


def window_of(kit: Kit) -> Charge | None:
    """Return the window in which modules of this kit may be joined, None where nothing is asked."""
    if kit.job.kind not in JOINING:
        return None
    told = kit.snapshot.get("charge")
    return Charge(**told) if told else None


@dataclass(frozen=True, slots=True)
class Shown:
    """What a page says about the charge of what is joined."""

    words: str  # what has to be done
    read: tuple[tuple[Unit, int], ...]  # unit and percent, oldest first


def asked_of(kit: Kit) -> Shown | None:
    """Return what is asked of the charge on this job, None where nothing is."""
    window = window_of(kit)
    if window is None:
        return None
    rows = ChargeReading.objects.filter(kit=kit, event__reversed_by=None)
    read = {row.unit_id: row for row in rows.select_related("unit__item").order_by("pk")}
    return Shown(window.words(), tuple((row.unit, row.percent) for row in read.values()))


def _readings(kit: Kit, but: Unit) -> dict[int, int]:
    """Unit id -> what it showed last, of all units of a job but one."""
    rows = ChargeReading.objects.filter(kit=kit, event__reversed_by=None).exclude(unit=but)
    return dict(rows.order_by("pk").values_list("unit_id", "percent"))


def reading(kit: Kit, unit: Unit) -> int | None:
    """Return what a unit showed last for this job, None where nobody entered it."""
    rows = ChargeReading.objects.filter(kit=kit, unit=unit, event__reversed_by=None)
    return rows.order_by("-pk").values_list("percent", flat=True).first()


def charged(kit: Kit, unit: Unit, position: Position) -> None:
    """Stop a module whose charge nobody entered, or that must not be joined at this charge."""
    window = window_of(kit) if position.role == "unit" else None
    if window is None:
        return
    stands = AsBuilt.objects.filter(site=kit.job.site.place, until=None, unit=unit).exists()
    if stands or was_here(kit, unit):
        return
    percent, others = reading(kit, unit), _readings(kit, unit)
    if percent is None:
        raise CannotMove(f"Enter the charge that {unit} shows first")
    standing = AsBuilt.objects.filter(site=kit.job.site.place, until=None, role="unit")
    beside = set(standing.exclude(unit=None).values_list("unit_id", flat=True))
    if beside and not beside & others.keys():
        raise CannotMove("Enter the charge that one of the standing modules shows first")
    fault = window.fault(percent, tuple(others[pk] for pk in beside & others.keys()))
    if fault:
        raise CannotMove(f"{unit}: {fault}. Bring them together first")


def was_here(kit: Kit, unit: Unit) -> bool:
    """Whether this job took the unit down itself: it goes back where it was joined before."""
    return AsBuilt.objects.filter(unit=unit, until__subject=kit.subject).exists()


CHARGE = Act("charge", frozenset(Role.values), charge, allow=access.allow)

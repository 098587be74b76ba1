"""A released kit that changes: a new snapshot and its difference; what was picked stays picked.

Every earlier snapshot stays readable. What the new list no longer wants shows as to be put back,
and neither loads nor closes unnoticed (`gates.nothing_to_put_back`, `queries.left_of`).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from inventory.lock import writing
from inventory.models import Item, Person, Place, PlaceKind
from kitting import packing, signing, snapshot, sparing
from kitting.explaining import lines_of
from kitting.models import Kit, KitChange, Package
from kitting.packing import Reason, Refused
from kitting.plan import difference
from kitting.plan.difference import Difference
from kitting.plan.lines import Alternative, Line
from kitting.plan.lines import Reason as LineReason
from kitting.snapshot import WorkedOut
from kitting.sparing import Sparing


def change_kit(
    kit: Kit,
    configuration: Mapping[str, Any],
    by: Person,
    reason: str,
    kind: str = KitChange.Kind.OFFICE,
    seen: int | None = None,
) -> KitChange:
    """Change a released kit to another configuration. Raises Refused with every reason.

    `seen`: how many changes there were when its answers were looked at; another's change in
    between is not written over.
    """
    with writing():
        kit.refresh_from_db()
        if seen is not None and seen != kit.changes.count():
            raise Refused([Reason("kit", f"{kit.code} was changed meanwhile. Open this page anew")])
        result, found = _looked_at(kit, configuration, reason, kind)
        now = {**result.snapshot, "lines": result.lines}
        change = KitChange.objects.create(
            kit=kit,
            number=kit.changes.count() + 1,
            kind=kind,
            old_snapshot=kept(kit),
            new_snapshot=now,
            difference=found.as_json(),
            reason=reason[:200],
            by=by,
        )
        packing.follow(kit, result)
        _more_bags(kit)
    return change


def sign_check(
    kit: Kit, question: str, by: Person, *, item: Item | None, quantity: int, words: str
) -> Kit:
    """Sign one check of a kit; one that a change of a released kit asks anew changes the kit again,
    where an item is taken for it. Raises signing.NotSigned, or Refused."""
    if kit.released_at is None:
        return packing.sign_check(kit, question, by, item=item, quantity=quantity, words=words)
    with writing():
        signing.sign(kit, question, by, item=item, quantity=quantity, words=words)
        if item is not None:
            reason = f"Signed: {signing.worded(question)}"
            change_kit(kit, kit.snapshot["configuration"], by, reason)
    return kit


def preview(
    kit: Kit, configuration: Mapping[str, Any], kind: str = KitChange.Kind.OFFICE
) -> Difference:
    """Return what a change would bring, without changing anything. Raises Refused."""
    return _looked_at(kit, configuration, "to look at", kind)[1]


def _looked_at(
    kit: Kit, configuration: Mapping[str, Any], reason: str, kind: str
) -> tuple[WorkedOut, Difference]:
    """The kit worked out anew by its own edition, and what that changes."""
    reasons = _faults(kit, reason)
    if reasons:
        raise Refused(reasons)
    bare = packing.laid_over(kit.job, kit.edition, packing.worked_out(kit.edition, configuration))
    on_site = kind == KitChange.Kind.SITE
    result = _spares_as_packed(kit, bare) if on_site else packing.with_spares(bare)[0]
    open_ones = [
        Reason("open question", f"Answer first: {snapshot.question(entry)}")
        for entry in result.snapshot["unresolved"]
        if entry not in kit.snapshot["unresolved"]
    ]
    if open_ones:
        raise Refused(open_ones)
    found = difference.of_lines(lines_of(kit), lines_told(result.lines))
    same = dict(configuration) == kit.snapshot["configuration"]
    if not found and same and kind != KitChange.Kind.HAND:
        raise Refused([Reason("change", "Nothing changes by this")])
    return result, found


def _spares_as_packed(kit: Kit, bare: WorkedOut) -> WorkedOut:
    """Nobody fetches spares to a site: those packed stay, of what is still needed."""
    wanted = {line["item"] for line in bare.lines}
    packed = [line for line in lines_of(kit) if line.step == sparing.STEP and line.item in wanted]
    kept = Sparing([line.as_json() for line in packed], kit.snapshot.get("spares", {}))
    told = sparing.told_in(bare.snapshot, kept)
    return replace(bare, lines=[*bare.lines, *kept.lines], snapshot=told)


def _faults(kit: Kit, reason: str) -> list[Reason]:
    reasons = []
    if kit.released_at is None:
        reasons.append(Reason("kit", f"{kit.code} is not released: work it out again instead"))
    if kit.closed_by_id is not None:
        reasons.append(Reason("kit", f"{kit.code} is closed and stays as it is"))
    if kit.job.cancelled_at is not None:
        reasons.append(Reason("job", f"{kit.job.code} is cancelled"))
    if not reason.strip():
        reasons.append(Reason("reason", "Say why: expected a reason, got nothing"))
    return reasons


def kept(kit: Kit) -> dict[str, Any]:
    """Return the kit's snapshot with its lines, as a change keeps it."""
    return {**kit.snapshot, "lines": [line.as_json() for line in lines_of(kit)]}


def lines_told(told: Iterable[Mapping[str, Any]]) -> list[Line]:
    """Return lines as a snapshot tells them, with all that a line has."""
    return [
        Line(
            **{
                **line,
                "reasons": tuple(LineReason(**reason) for reason in line["reasons"]),
                "pieces": tuple(line["pieces"]),
                "alternatives": tuple(Alternative(**other) for other in line["alternatives"]),
            }
        )
        for line in told
    ]


def _more_bags(kit: Kit) -> None:
    """A step that now has small parts and had none gets its bag, where the kit is packed."""
    packages = kit.packages.select_related("place")
    bay = packages.filter(kind=Package.Kind.BAY).first()
    parcel = packages.filter(kind=Package.Kind.PARCEL).order_by("-number").first()
    where: Place | None = parcel.place if parcel else bay.place if bay else None
    if where is None or where.within(PlaceKind.VAN, PlaceKind.SITE) is not None:
        return
    packing.make_bags(kit, where)

"""Taking down: a unit comes off the wall, and the site's record ends for it."""

from __future__ import annotations

from inventory import claiming
from inventory.intake import Act, Verdict
from inventory.models import Place, Role
from inventory.moving import CannotMove, Writing
from kitting import access, as_built, gates, walking
from kitting.fitting import undo
from kitting.models import Kit


def take_down(writes: Writing) -> Verdict:
    """Move a unit from its stack to the target parcel of this kit, else loose to the site.

    kind "danger" with a reason: at once, though a claim about it is not approved yet.
    """
    kit = gates.open_kit(writes)
    unit = walking.unit_of(writes) if writes.thing.kind == "serial" else gates.own_label(writes)
    gates.may_come_off(writes, unit)
    row, to = as_built.of(unit), _target(writes, kit)

    def move() -> None:
        writes.unit(unit, to)
        if row is not None:
            as_built.end(row, writes.event)

    verdict = walking.walk(writes, kit, unit, move)
    if verdict.word in ("applied", "problem"):
        writes.seen(unit)
        if writes.line.kind == gates.DANGER:
            claiming.removed_for_danger(writes, unit)
    return verdict


def _target(writes: Writing, kit: Kit) -> Place:
    site = kit.job.site.place
    if not writes.line.target:
        return site
    place = Place.objects.filter(code=writes.line.target).first()
    if place is None or (place.subject != kit.subject and place.pk != site.pk):
        raise CannotMove("Scan a parcel of this kit as the target")
    return place


TAKE_DOWN = Act("take_down", frozenset(Role.values), take_down, allow=access.allow, undo=undo)

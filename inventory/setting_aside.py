"""Setting aside and releasing: a condition of a thing, not a place."""

from inventory import returns
from inventory.intake import Act, Verdict
from inventory.models import Lot, Place, Role, Unit
from inventory.models.places import MOVABLE
from inventory.moving import CannotMove, Writing
from inventory.notices import relink


def set_aside(writes: Writing) -> Verdict:
    """Open a hold on the scanned unit, batch, box or parcel; it stays where it is."""
    on = _thing(writes)
    if on is None:
        return Verdict("stopped", "Scan the thing that is to be set aside.")
    if not writes.line.reason:
        return Verdict("stopped", "Say why it is set aside.")
    writes.set_aside(on, writes.line.reason)
    return Verdict("applied", f"{writes.thing.name} is set aside: {writes.line.reason}.")


def release(writes: Writing) -> Verdict:
    """End every open hold on the scanned thing."""
    on = _thing(writes)
    if on is None:
        return Verdict("stopped", "Scan the thing that is to be free again.")
    back = returns.open_of(on) if isinstance(on, Unit) else None
    if back is not None:
        raise CannotMove(f"{on} came back: look at it first, {back.code}")
    found = list(on.holds.filter(release=None).order_by("pk"))
    for hold in found:
        writes.release(hold)
    if not found:
        return Verdict("noted", f"{writes.thing.name} is not set aside.")
    return Verdict("applied", f"{writes.thing.name} is free again.")


def _thing(writes: Writing) -> Unit | Lot | Place | None:
    """What can be set aside: a unit, a batch with a number, or a box, parcel or bag."""
    thing = writes.thing
    if thing.unit is not None or thing.lot is not None:
        return thing.unit or thing.lot
    return thing.place if thing.place is not None and thing.place.kind in MOVABLE else None


ANYBODY = frozenset(Role.values)
SET_ASIDE = Act("set_aside", ANYBODY - {Role.TECHNICIAN}, set_aside)
RELEASE = Act("release", frozenset({Role.MANAGER}), release, undo=relink)

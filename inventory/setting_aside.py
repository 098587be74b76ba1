"""Setting aside and releasing: a condition of a thing, not a place."""

from inventory.intake import Act, Verdict
from inventory.models import Hold, Role
from inventory.moving import Writing


def set_aside(writes: Writing) -> Verdict:
    """Open a hold on the scanned unit, batch, box or parcel; it stays where it is."""
    on = writes.thing.unit or writes.thing.lot or writes.thing.place
    if on is None:
        return Verdict("stopped", "Scan the thing that is to be set aside.")
    if not writes.line.reason:
        return Verdict("stopped", "Say why it is set aside.")
    writes.set_aside(on, writes.line.reason)
    return Verdict("applied", f"{writes.thing.name} is set aside: {writes.line.reason}.")


def release(writes: Writing) -> Verdict:
    """End every open hold on the scanned thing."""
    unit, place = writes.thing.unit, writes.thing.place
    holds = Hold.objects.filter(release=None)
    found = list(holds.filter(unit=unit) if unit else holds.filter(place=place) if place else [])
    for hold in found:
        writes.release(hold)
    if not found:
        return Verdict("noted", f"{writes.thing.name} is not set aside.")
    return Verdict("applied", f"{writes.thing.name} is free again.")


ANYBODY = frozenset(Role.values)
SET_ASIDE = Act("set_aside", ANYBODY - {Role.TECHNICIAN}, set_aside)
RELEASE = Act("release", frozenset({Role.MANAGER}), release)

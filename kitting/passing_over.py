"""Why units that lie on the shelves are not offered to a kit."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from django.utils import timezone

from inventory import charging
from inventory.models import Item, Purpose, Unit
from inventory.queries import open_hold
from kitting.models import Kit, Pin
from kitting.offering import Key, Offers
from kitting.shelves import Spot, standing_on_shelves

MOST = 40  # units of one item that a page names


@dataclass(frozen=True, slots=True)
class PassedOver:
    """One unit and why it is not for this kit."""

    unit: Unit
    why: str


def passed_over(kit: Kit, item: Item, found: Mapping[Key, Offers]) -> list[PassedOver]:
    """Return why each further unit on the shelves is not offered; what is merely not needed is left
    out."""
    offers = found.get((kit.pk, item.pk))
    if offers is None:
        return []
    own = {offer.unit.pk for offer in offers.units}
    elsewhere = {
        offer.unit.pk: other.case.need.kit
        for (pk, _), other in found.items()
        if pk != kit.pk
        for offer in other.units
    }
    today = timezone.now().date()
    told = []
    for spot in standing_on_shelves(item)[: 4 * MOST]:
        unit = spot.unit
        if unit is None or unit.pk in own:
            continue
        why = _held(unit) or _unlooked(spot) or charging.stopped_by(unit, today)
        why = why or _pinned(unit, kit)
        why = why or offers.case.against(spot, offers.revisions) or _apart(offers, spot)
        if not why and unit.pk in elsewhere:
            why = f"offered to {elsewhere[unit.pk].code}, whose claim is older or fits it"
        if why:
            told.append(PassedOver(unit, why.rstrip(".")))
    return told[:MOST]


def _held(unit: Unit) -> str:
    hold = open_hold(unit)
    return f"set aside: {hold.reason}" if hold else ""


def _unlooked(spot: Spot) -> str:
    """What came back, or stands apart, is on no offer before somebody has looked at it."""
    purposes = {place.purpose for place in spot.place.way_up()}
    if Purpose.RETURNS in purposes:
        return "came back, and nobody has looked at it yet"
    return "stands apart, with what must not stand with others" if Purpose.APART in purposes else ""


def _pinned(unit: Unit, kit: Kit) -> str:
    pin = Pin.objects.standing().filter(unit=unit).exclude(kit=kit).select_related("kit").first()
    return f"kept for {pin.kit.code}: {pin.reason}" if pin else ""


def _apart(offers: Offers, spot: Spot) -> str:
    """Where units of a stack are still wanted: made too far from those that are offered."""
    unit, days = spot.unit, offers.case.days
    if unit is None or unit.made_on is None or not days or not offers.lacking:
        return ""
    held = [offer.unit.made_on for offer in offers.units if offer.unit.made_on]
    if not held:
        return ""
    return (
        f"made {unit.made_on:%-d %b %Y}: not within {days} days with those offered, made "
        f"{min(held):%-d %b %Y} to {max(held):%-d %b %Y}"
    )

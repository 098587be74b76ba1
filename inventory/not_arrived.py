"""What has not come for a day: scans that a device numbered and never sent, scans that wait.

A person asks who has the device, or receives the thing; nothing is decided here.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from django.db.models import OuterRef, QuerySet, Subquery

from inventory.models import Device, DeviceGap, Event, Outcome

LONG: Final = timedelta(hours=24)  # until then a phone is just out of signal


@dataclass(slots=True)
class Lost:
    """Scans of a device that never came though later ones did."""

    device: Device
    count: int
    since: datetime  # when the first later one came


def never_came(now: datetime) -> list[Lost]:
    """Return the devices with such scans, those missing longest first; in one query."""
    later = Event.objects.filter(device=OuterRef("device"), seq__gt=OuterRef("last"))
    shown = Subquery(later.order_by("number").values("received_at")[:1])
    gaps = DeviceGap.objects.annotate(shown=shown).filter(shown__lte=now - LONG)
    found: dict[int, Lost] = {}
    for gap in gaps.select_related("device__person").order_by("shown", "pk"):
        lost = found.setdefault(gap.device_id, Lost(gap.device, 0, gap.shown))
        lost.count += gap.last - gap.first + 1
    return list(found.values())


def still_waiting(now: datetime) -> QuerySet[Event]:
    """Return the events that wait for a thing nobody has received, the oldest first."""
    decided = Outcome.objects.filter(event=OuterRef("pk")).order_by("-number")
    waiting = Outcome.objects.filter(verdict="waiting").values("event")
    found = Event.objects.filter(pk__in=waiting, reversed_by=None, received_at__lte=now - LONG)
    found = found.annotate(last=Subquery(decided.values("verdict")[:1])).filter(last="waiting")
    return found.select_related("person", "scan").order_by("number")

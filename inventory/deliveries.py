"""The only writer of deliveries as announced, of partners with their clocks, of serial files."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from django.db.models import Max

from inventory import rows as rows_of
from inventory.amending import amended
from inventory.lock import writing
from inventory.models import (
    Clock,
    Delivery,
    ListedSerial,
    Partner,
    PartnerNeed,
    Person,
    Place,
)
from inventory.serial_lists import Row


def enter(
    by: Person, *, note: str, supplier: Partner, carrier: Partner | None, dock: Place, boxes: int
) -> Delivery:
    """Enter a delivery note under the next free code."""
    with writing():
        last = Delivery.objects.aggregate(last=Max("pk"))["last"] or 0
        return Delivery.objects.create(
            code=f"D{last + 1}",
            note=note,
            supplier=supplier,
            carrier=carrier,
            dock=dock,
            boxes=boxes,
            entered_by=by,
        )


def enter_partners(partners: Sequence[Partner]) -> None:
    """Enter suppliers and carriers that were judged one by one."""
    with writing():
        rows_of.add_many(partners)


def enter_partner(*, code: str, name: str, kind: str) -> Partner:
    """Enter a supplier or carrier."""
    with writing():
        return Partner.objects.create(code=code, name=name, kind=kind)


def rename_partner(partner: Partner, name: str, by: Person) -> None:
    """Give a supplier or carrier another name; its code stays."""
    with writing():
        amended(by, f"partner:{partner.code}", {"name": partner.name}, {"name": name})
        partner.name = name
        partner.save(update_fields=["name"])


def set_clock(
    partner: Partner, *, about: str, how: str, hours: int, source: str, by: Person | None = None
) -> Clock:
    """Say within how many hours this partner wants to be told; open claims keep their dates.

    by: None where a command sets the firm up.
    """
    now = {"hours": hours, "source": source}
    with writing():
        rows = Clock.objects.filter(partner=partner, about=about, how=how)
        was = rows.values(*now).first() or {}
        amended(by, f"clock:{partner.code}:{about}:{how}", was, now)
        clock, _ = rows.update_or_create(partner=partner, about=about, how=how, defaults=now)
    return clock


def set_need(
    partner: Partner, *, about: str, key: str, words: str, source: str, by: Person | None = None
) -> PartnerNeed:
    """Say what this partner wants with a claim beside what every claim needs."""
    now = {"words": words, "source": source}
    with writing():
        rows = PartnerNeed.objects.filter(partner=partner, about=about, key=key)
        was = rows.values(*now).first() or {}
        amended(by, f"need:{partner.code}:{about}:{key}", was, now)
        need, _ = rows.update_or_create(partner=partner, about=about, key=key, defaults=now)
    return need


def set_keeping(
    partner: Partner, *, keep_days: int, approval_first: bool, by: Person | None = None
) -> None:
    """Say how long what is claimed is kept for this partner, and whether they approve first."""
    now = {"keep_days": keep_days, "approval_first": approval_first}
    with writing():
        rows = Partner.objects.filter(pk=partner.pk)
        amended(by, f"keeping:{partner.code}", rows.values(*now).get(), now)
        rows.update(**now)


def enter_list(delivery: Delivery, rows: Iterable[Row]) -> int:
    """Store a supplier's serial file that was judged whole; the same file twice changes nothing.

    A line that names another box than before is added, and counts from then on; one that names
    none leaves the box as it was. Returns how many lines are new.
    """
    with writing():
        known = delivery.listed.current().values_list("item_id", "key", "box")
        boxes = {(item, key): box for item, key, box in known}
        fresh = [
            ListedSerial(
                delivery=delivery, item=row.item, serial=row.serial, key=row.key, box=row.box
            )
            for row in rows
            if (row.item.pk, row.key) not in boxes
            or row.box not in ("", boxes[row.item.pk, row.key])
        ]
        rows_of.add_many(fresh)
    return len(fresh)

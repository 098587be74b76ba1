"""What open kits still need of an item, in the turn in which they take from the shelves."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence

from django.db.models import Count, F, OuterRef, Q, QuerySet, Subquery, Sum

from inventory.models import Item, Unit
from kitting.folding import fold_each
from kitting.models import AsBuilt, Kit, KitLine, Turn
from kitting.progress import fold
from kitting.standing_beside import Need
from kitting.tallies import Progress


def open_kits() -> QuerySet[Kit]:
    """Return the kits that take from the shelves, in their turn: as a person decided it last, then
    the oldest claim first."""
    kits = Kit.objects.filter(released_at__isnull=False, closed_by=None, job__cancelled_at=None)
    decided = Turn.objects.filter(kit=OuterRef("pk")).order_by("-serving").values("place")[:1]
    kits = kits.annotate(turn=Subquery(decided))
    turns = (F("turn").asc(nulls_last=True), "released_at", "pk")
    return kits.order_by(*turns).select_related("job__van", "job__site__place")


def of_progresses(progresses: Iterable[Progress]) -> list[Need]:
    """Return what these kits still need, in their order, with what has to stand in for what is
    damaged or missing since it was packed."""
    return [
        Need(progress.kit, total.item, total.to_pick + total.to_replace)
        for progress in progresses
        for total in progress.totals.values()
    ]


def needs(items: Sequence[Item], *known: Progress) -> list[Need]:
    """Return what open kits still need of these items. known: of some, maybe not released yet.

    Looked at closely only where the book of places alone does not say that all is packed.
    """
    kits = list(open_kits().filter(lines__item__in=items).distinct())
    folded = {one.kit.pk: one for one in known}
    listed = {kit.pk for kit in kits}
    kits += [one.kit for one in known if one.kit.pk not in listed]
    lines = KitLine.objects.filter(kit__in=kits, item__in=items).values_list("kit", "item")
    wanted = {(kit, item): n for kit, item, n in lines.annotate(Sum("quantity")).order_by()}
    there = _there(kits, items)
    lacking = [
        (kit, item)
        for kit in kits
        for item in items
        if wanted.get((kit.pk, item.pk), 0) > there[kit.subject, item.pk]
    ]
    unknown = list({kit.pk: kit for kit, _ in lacking if kit.pk not in folded}.values())
    # One item alone is looked at faster kit by kit than all items of all kits at once.
    alone = len(items) == 1 and len(known) < 2
    asked = [fold(kit, items[0]) for kit in unknown] if alone else fold_each(unknown)
    folded |= {one.kit.pk: one for one in asked}
    totals = [(kit, folded[kit.pk].totals[item.code]) for kit, item in lacking]
    return [Need(kit, total.item, total.to_pick) for kit, total in totals]


def _there(kits: Sequence[Kit], items: Sequence[Item]) -> dict[tuple[str, int], int]:
    """(subject, item) -> units in a kit's places, and those that its job stood in a stack."""
    subjects = [kit.subject for kit in kits]
    found: dict[tuple[str, int], int] = defaultdict(int)
    for path in ("place__subject", "place__parent__subject"):
        units = Unit.objects.filter(Q(**{f"{path}__in": subjects}), item__in=items)
        for subject, item, count in (
            units.values_list(path, "item").annotate(Count("pk")).order_by()
        ):
            found[subject, item] += count
    stood = AsBuilt.objects.filter(until=None, since__subject__in=subjects, unit__item__in=items)
    rows = stood.values_list("since__subject", "unit__item").annotate(Count("pk")).order_by()
    for subject, item, count in rows:
        found[subject, item or 0] += count
    return found

"""Spares of a kit: each item's record, the firm's target, and the lines that come of them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from django.conf import settings
from django.db.models import Count, Q, QuerySet, Sum

from inventory.models import Finding, Item, Tracking
from kitting.models import KitLine, Package
from kitting.plan import spares
from kitting.plan.spares import Uncertain

STEP: Final = "spare"
TITLE: Final = "Spares"
TASK: Final = "Bring back what was not used."
NOT_ENTERED: Final = 100  # cents, for an item whose cost nobody entered
STOPS: Final = ("end the bus", "link data", "blank ports", "blank entry")
"""Needs of small cheap parts without which the job stops: one spare of these always travels."""
SMALL_COST: Final = 1000  # cents: up to here such a part is cheap


@dataclass(frozen=True, slots=True)
class Record:
    """What became of an item in the kits so far."""

    lost: int = 0  # pieces reported missing or damaged
    good: int = 0  # pieces that closed kits took

    def words(self) -> str:
        """As the page says it."""
        if not self.lost and not self.good:
            prior, of = spares.PRIOR[0], sum(spares.PRIOR)
            return f"assumed {prior} lost of {of}: no record yet"
        return f"{self.lost} lost of {self.lost + self.good}"


def records(items: Collection[int]) -> dict[int, Record]:
    """Return item id -> its record: what closed kits took, what was lost or broken singly."""
    good = KitLine.objects.filter(item__in=items, spare=False, kit__closed_by__isnull=False)
    taken = dict(good.values_list("item").annotate(Sum("quantity")).order_by())
    lost = lost_singly().filter(item__in=items)
    gone = dict(lost.values_list("item").annotate(Sum("quantity")).order_by())
    return {item: Record(gone.get(item, 0), taken.get(item, 0)) for item in items}


def lost_singly() -> QuerySet[Finding]:
    """Return what kits reported missing or damaged, each loss once; whole bags are not among it."""
    # A bag that was found again answers its finding; a single part is answered by its stand-in.
    lost = Finding.objects.filter(
        kind__in=(Finding.Kind.MISSING, Finding.Kind.DAMAGED),
        subject__startswith="kit:",
        place=None,
        event__reversed_by=None,
    )
    # Where some of it was found, the rest is told again by the scan: the same loss.
    return lost.exclude(kind=Finding.Kind.MISSING, event__step__in=("unbox", "pick"))


def cost(item: Item) -> int:
    """Return what one of it costs, in cents; a guess where nobody entered it."""
    return -(-item.cost // item.cost_for) or NOT_ENTERED


def bag_chance() -> float:
    """Return the chance that a line's bag is lost, by all bags so far."""
    lost = Finding.objects.filter(
        kind=Finding.Kind.MISSING,
        item__isnull=False,
        place__package__kind=Package.Kind.BAG,
        event__reversed_by=None,
        answer=None,
    ).count()
    small = Q(item__tracking__in=(Tracking.COUNT, Tracking.LOT), spare=False)
    lines = KitLine.objects.filter(small, kit__closed_by__isnull=False).aggregate(n=Count("pk"))[
        "n"
    ]
    bad, fine = spares.BAG_PRIOR
    chance: float = (bad + lost) / (bad + fine + max(lines, lost))
    return chance


@dataclass(frozen=True, slots=True)
class Sparing:
    """What a kit takes besides."""

    lines: list[dict[str, Any]]  # item, quantity, unit, step, reasons
    told: dict[str, Any]  # what the snapshot keeps: target, chances, cost, gap, each item


def spares_of(lines: Sequence[Mapping[str, Any]], items: Mapping[str, Item]) -> Sparing:
    """Choose the spares of a kit's lines. items: code -> item, of every line."""
    needed: dict[str, int] = defaultdict(int)
    stops: set[str] = set()
    for line in lines:
        item = items[line["item"]]
        if _uncertain(item):
            needed[item.code] += line["quantity"]
            if any(reason["need"].startswith(STOPS) for reason in line["reasons"]):
                stops.add(item.code)
    target = settings.KIT_CHANCE / 100
    if not needed or not target:
        return Sparing([], {})
    found = records({items[code].pk for code in needed})
    bag = bag_chance()
    uncertain = [
        _risk(items[code], count, found[items[code].pk], bag, code in stops)
        for code, count in needed.items()
    ]
    chosen = spares.choose(uncertain, target)
    rows: list[dict[str, Any]] = [
        {"item": line.item, "needed": line.needed, "spare": count, "cost": line.cost * count}
        | {"name": items[line.item].name}
        | {"record": found[items[line.item].pk].words(), "always": bool(line.least)}
        for line, count in zip(uncertain, chosen.spares, strict=True)
    ]
    told = {"target": target, "chance": chosen.chance, "without": chosen.without}
    told |= {"reached": chosen.reached, "cost": chosen.cost, "gap": chosen.gap, "bag": bag}
    taken = [_line(items[row["item"]], row, chosen) for row in rows if row["spare"]]
    return Sparing(taken, told | {"rows": rows})


def told_in(kept: Mapping[str, Any], besides: Sparing) -> dict[str, Any]:
    """Return a snapshot that tells of the spares: how likely the kit is enough, and their step."""
    steps = list(kept["steps"])
    if besides.lines:
        steps.append({"key": STEP, "title": TITLE, "tasks": [TASK]})
    return {**kept, "steps": steps, "spares": besides.told}


def _uncertain(item: Item) -> bool:
    """Small counted things: what has a serial, is cut or comes back has no spare in a kit."""
    return item.tracking in (Tracking.COUNT, Tracking.LOT) and item.unit == "piece"


def _risk(item: Item, needed: int, record: Record, bag: float, stops: bool) -> Uncertain:
    lost, good = spares.PRIOR
    each = cost(item)
    return Uncertain(
        item.code,
        needed,
        each,
        lost + record.lost,
        good + record.good,
        bag,
        least=1 if stops and each <= SMALL_COST else 0,
    )


def _line(item: Item, row: Mapping[str, Any], chosen: spares.Chosen) -> dict[str, Any]:
    words = (
        f"{row['record']}; with {row['spare']} more than the {row['needed']} needed the whole kit"
        f" is enough in {chosen.chance:.1%} of jobs instead of {chosen.without:.1%}"
    )
    if row["always"]:
        words += "; a small part that stops the job: one more always"
    reason = {"need": "spare", "rule": "spares by risk", "arithmetic": words}
    reason |= {"quantity": row["spare"], "place": "", "by": ""}
    return {
        "item": item.code,
        "quantity": row["spare"],
        "unit": item.unit,
        "step": STEP,
        "reasons": [
            {**reason, "source": "the firm's own record; its first guess is an assumption"}
        ],
    }

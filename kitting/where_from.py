"""One kit's page of where things come from: lines with what can be done about what is short."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from inventory.layers import on_top
from inventory.models import Item, Tracking
from kitting import donors, offering, passing_over, sourcing, still_needed, substituting
from kitting.donors import Donor
from kitting.models import Kit
from kitting.offering import Key, Offer, Offers, Run
from kitting.passing_over import PassedOver
from kitting.progress import fold
from kitting.snapshot import step_titles
from kitting.sourcing import Source
from kitting.substituting import Instead
from kitting.tallies import LineProgress


@dataclass(frozen=True, slots=True)
class LineFrom:
    """One line and where what it still takes comes from."""

    row: LineProgress
    title: str  # of its step
    sources: tuple[Source, ...]
    instead: tuple[Instead, ...]
    donors: tuple[Donor, ...]

    @property
    def short(self) -> int:
        """Base units that no shelf has."""
        return sum(part.quantity for part in self.sources if part.kind == "short")


@dataclass(frozen=True, slots=True)
class ByPlace:
    """The lines of a kit by what can be done."""

    helped: tuple[LineFrom, ...]  # short, and something may be taken instead or from another kit
    short: tuple[LineFrom, ...]  # short, and nothing else is here; without things with a serial,
    there: tuple[LineFrom, ...]  # on the shelves; which are told one by one

    @property
    def given(self) -> bool:
        """Whether another kit has packed what this one lacks."""
        return any(line.donors for line in self.helped)


@dataclass(frozen=True, slots=True)
class UnitFrom:
    """One offered unit and how deep it lies."""

    offer: Offer
    above: int  # boxes and things that came into its bin after it


@dataclass(frozen=True, slots=True)
class UnitsFrom:
    """What a kit is offered of one item with serials."""

    item: Item
    units: tuple[UnitFrom, ...]
    runs: tuple[Run, ...]
    passed: tuple[PassedOver, ...]
    lacking: int


def lines_of(kit: Kit) -> list[LineFrom]:
    """Return the lines of which something is still to be taken, what is short first."""
    progress = fold(kit)
    rows = {row.line.pk: row for row in progress.lines if row.to_pick}
    found, titles = sourcing.sources(kit, progress), step_titles(kit)
    parts = {
        pk: tuple(s for s in found.get(pk, ()) if s.kind in ("bag", "shelf", "short"))
        for pk in rows
    }
    short = {pk: sum(s.quantity for s in some if s.kind == "short") for pk, some in parts.items()}
    lacking = {pk: quantity for pk, quantity in short.items() if quantity}
    instead = substituting.instead_of(kit, lacking)
    others = donors.donors(kit, [rows[pk].line.item for pk in lacking])
    lines = [
        LineFrom(
            row,
            titles.get(row.line.step, row.line.step),
            parts[pk],
            tuple(one for one in instead if one.line.pk == pk),
            _may_give(row, others.get(row.line.item_id, ())) if pk in lacking else (),
        )
        for pk, row in rows.items()
    ]
    return sorted(lines, key=lambda line: (not line.short, line.row.line.order))


def _may_give(row: LineProgress, others: Iterable[Donor]) -> tuple[Donor, ...]:
    """The other kits; no job is stopped for a spare of this one."""
    return tuple(one for one in others if one.free or not row.line.spare)


def by_place(lines: Iterable[LineFrom]) -> ByPlace:
    """Return a kit's lines by what can be done, each in the order they came."""
    found: dict[str, list[LineFrom]] = {"helped": [], "short": [], "there": []}
    for line in lines:
        if line.instead or line.donors:
            found["helped"].append(line)
        elif line.row.line.item.tracking != Tracking.SERIAL:
            found["short" if line.short else "there"].append(line)
    return ByPlace(**{name: tuple(some) for name, some in found.items()})


def units_of(kit: Kit) -> list[UnitsFrom]:
    """Return the very units offered to a kit, item by item, and why others are not."""
    items = [line.item for line in kit.lines.select_related("item")]
    single = list({i.pk: i for i in items if i.tracking == Tracking.SERIAL}.values())
    found = offering.offered(still_needed.needs(single, fold(kit))) if single else {}
    return [
        _units(kit, item, found[kit.pk, item.pk], found)
        for item in single
        if (kit.pk, item.pk) in found and found[kit.pk, item.pk].case.need.quantity
    ]


def _units(kit: Kit, item: Item, offers: Offers, found: dict[Key, Offers]) -> UnitsFrom:
    above = on_top(offer.unit for offer in offers.units)
    return UnitsFrom(
        item,
        tuple(UnitFrom(offer, above.get(offer.unit.pk, 0)) for offer in offers.units),
        tuple(offers.runs),
        tuple(passing_over.passed_over(kit, item, found)),
        offers.lacking,
    )

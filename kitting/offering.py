"""Which very units are offered to which kit: by the rules of its parts list, oldest claim first.

An offer is a suggestion: any unit that keeps the rules counts as soon as it is scanned. Nothing is
stored but what a person pinned. Overdue and set aside ones are never offered (`shelves`).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from django.utils import timezone

from inventory.models import Item, Tracking, Unit
from kitting import standing_beside
from kitting.models import Pin, RunChoice
from kitting.plan import one_run
from kitting.plan.one_run import Chosen, Stored, Wanted
from kitting.shelves import Spot, on_shelves
from kitting.standing_beside import Case, Need

Key = tuple[int, int]  # kit, item


@dataclass(frozen=True, slots=True)
class Offer:
    """One unit for one kit."""

    spot: Spot
    stack: int = 0  # which stack it is meant for; 0: any
    pinned: bool = False
    note: str = ""  # what to look at before it is taken

    @property
    def unit(self) -> Unit:
        """The unit itself."""
        assert self.spot.unit is not None, "only units are offered"
        return self.spot.unit


@dataclass(frozen=True, slots=True)
class Run:
    """One stack of a kit that asks for units of one run."""

    stack: int
    needed: int  # units that it still takes
    offered: int  # of one run with what it holds
    days: int

    @property
    def whole(self) -> bool:
        """Whether all of it comes from one run."""
        return self.offered >= self.needed


@dataclass(slots=True)
class Offers:
    """What is offered to a kit of one item."""

    case: Case
    units: list[Offer] = field(default_factory=list)
    runs: list[Run] = field(default_factory=list)
    stacks: list[Wanted] = field(default_factory=list)  # those that ask for one run

    @property
    def lacking(self) -> int:
        """Units for which nothing that keeps the rules is on the shelf."""
        return max(self.case.need.quantity - len(self.units), 0)

    @property
    def revisions(self) -> frozenset[str]:
        """What stands or is packed, and what is offered."""
        return self.case.beside | {offer.unit.revision for offer in self.units} - {""}


def way_in_force() -> str:
    """Return the firm's choice between oldest first and most stacks."""
    latest = RunChoice.objects.order_by("-pk").values_list("way", flat=True).first()
    return latest or RunChoice.Way.OLDEST


def offered(
    needs: Sequence[Need], way: str = "", shelves: Mapping[int, Sequence[Spot]] | None = None
) -> dict[Key, Offers]:
    """Return what each kit is offered. needs: of all open kits, the oldest claim first.

    shelves: what `on_shelves` told the caller of these items and maybe of others.
    """
    asked = [need for need in needs if need.item.tracking == Tracking.SERIAL]
    cases = standing_beside.cases(asked)
    found = {(case.need.kit.pk, case.need.item.pk): Offers(case) for case in cases}
    wanted = {need.item.pk for need in asked if need.quantity}
    shelves = on_shelves(wanted) if shelves is None else shelves
    shelves = {item: spots for item, spots in shelves.items() if item in wanted}
    pins = Pin.objects.by_unit(
        spot.unit.pk for spots in shelves.values() for spot in spots if spot.unit
    )
    for item, spots in shelves.items():
        mine = [offers for (_, other), offers in found.items() if other == item]
        _share(mine, spots, pins, way)
    return found


def whole_stacks(needs: Sequence[Need], way: str) -> Iterator[tuple[Item, list[Wanted], Chosen]]:
    """Return per item the stacks that wait for units of one run, and what a choice gives them."""
    cases = [case for case in standing_beside.cases(needs) if case.days]
    items = {case.need.item.pk: case.need.item for case in cases}
    shelves = on_shelves(items)
    pins = Pin.objects.by_unit(
        spot.unit.pk for spots in shelves.values() for spot in spots if spot.unit
    )
    for pk, item in items.items():
        mine = [Offers(case) for case in cases if case.need.item.pk == pk]
        free = _pins_first(mine, shelves.get(pk, ()), pins)
        stacks = [stack for offers in mine for stack in offers.stacks]
        yield item, stacks, one_run.choose(_dated(free, mine), stacks, way, timezone.now().date())


def _share(mine: list[Offers], spots: Sequence[Spot], pins: Mapping[int, int], way: str) -> None:
    """Share out one item's spots: what is pinned, whole stacks, then by the age of the claims."""
    free = _pins_first(mine, spots, pins)
    if any(offers.case.days for offers in mine):
        free = _runs(mine, free, way or way_in_force())
    for offers in mine:
        if offers.case.days:
            free = _part_of_a_stack(offers, free)
        free = _by_rule(offers, free)


def _pins_first(mine: list[Offers], spots: Sequence[Spot], pins: Mapping[int, int]) -> list[Spot]:
    """Give each kit what is pinned to it and keeps its rules; return what nobody pinned."""
    known = {spot.unit.revision for spot in spots if spot.unit}
    for offers in mine:
        offers.case.bar(known | offers.case.beside)
    by_kit = {offers.case.need.kit.pk: offers for offers in mine}
    for spot in spots:
        own = by_kit.get(pins.get(_pk(spot), 0))
        if own is not None and own.lacking and not own.case.against(spot, own.revisions):
            own.units.append(Offer(spot, pinned=True, note=own.case.note(spot)))
    for offers in mine:
        offers.stacks = list(_wanted(offers))
    return [spot for spot in spots if _pk(spot) not in pins]


def _runs(mine: list[Offers], free: list[Spot], way: str) -> list[Spot]:
    """Give whole stacks their runs; return what is left."""
    by_key = {_pk(spot): spot for spot in free}
    stacks = {stack.key: (offers, stack) for offers in mine for stack in offers.stacks}
    wanted = [stack for _, stack in stacks.values()]
    chosen = one_run.choose(_dated(free, mine), wanted, way, timezone.now().date())
    for key, run in chosen.runs.items():
        offers, stack = stacks[key]
        number = int(key.rpartition("/")[2])
        offers.units += [_for(offers, by_key.pop(pk), number) for pk in run]
        offers.runs.append(Run(number, stack.room.count, len(run), stack.days))
    return list(by_key.values())


def _wanted(offers: Offers) -> Iterator[Wanted]:
    case = offers.case
    if not case.days:
        return
    held = [offer.unit.made_on for offer in offers.units]
    rooms = case.rooms([made for made in held if made is not None], held.count(None))
    left = case.need.quantity - len(offers.units)
    for number, room in rooms.items():
        if 0 < room.count <= left:
            left -= room.count
            yield Wanted(
                f"{case.need.kit.code}/{number}",
                case.need.kit.code,
                room,
                case.days,
                case.barred,
                offers.revisions,
            )


def _dated(free: Iterable[Spot], mine: Sequence[Offers]) -> list[Stored]:
    """The units whose day is known and that keep until every one of these jobs."""
    latest = max(offers.case.need.kit.job.date for offers in mine)
    return [
        Stored(spot.unit.pk, spot.unit.made_on, spot.unit.revision)
        for spot in free
        if spot.unit and spot.unit.made_on and not spot.expired(latest)
    ]


def _part_of_a_stack(offers: Offers, free: list[Spot]) -> list[Spot]:
    """Where a stack is not whole: as many of one run as there are, then those of unknown day."""
    whole = {run.stack for run in offers.runs}
    for stack in offers.stacks:
        number = int(stack.key.rpartition("/")[2])
        if number in whole:
            continue
        asked = replace(stack, beside=offers.revisions)
        by_key = {_pk(spot): spot for spot in free}
        run = one_run.largest(_dated(free, [offers]), asked)
        offers.units += [_for(offers, by_key.pop(pk), number) for pk in run]
        offers.runs.append(Run(number, stack.room.count, len(run), stack.days))
        free = list(by_key.values())
        for spot in [spot for spot in free if spot.unit and spot.unit.made_on is None]:
            if len([o for o in offers.units if o.stack == number]) >= stack.room.count:
                break
            if not offers.case.against(spot, offers.revisions):
                offers.units.append(_for(offers, spot, number))
                free.remove(spot)
    offers.runs.sort(key=lambda run: run.stack)
    return free


def _by_rule(offers: Offers, free: list[Spot]) -> list[Spot]:
    """Fill up with what may stand with the rest, in the order of taking."""
    case, known = offers.case, {spot.unit.revision for spot in free if spot.unit}
    stacks_take = sum(run.needed for run in offers.runs)
    left = min(offers.lacking, case.need.quantity - max(stacks_take, len(offers.units)))
    if left < 1:
        return free
    best: list[Spot] = []
    for pool in one_run.pools(case.barred, offers.revisions, known):
        able = _able(offers, [spot for spot in free if _of_pool(spot, pool)], left)
        best = able if len(able) > len(best) else best
    offers.units += [_for(offers, spot, 0) for spot in best]
    return [spot for spot in free if spot not in best]


def _able(offers: Offers, free: Iterable[Spot], most: int) -> list[Spot]:
    """The first of these that may stand with the rest, and with those taken before."""
    found: list[Spot] = []
    for spot in free:
        if len(found) == most:
            break
        others = [offer.unit for offer in offers.units] + [one.unit for one in found if one.unit]
        apart = spot.unit is not None and offers.case.made_apart(spot.unit, others)
        if not apart and not offers.case.against(spot, offers.revisions):
            found.append(spot)
    return found


def _of_pool(spot: Spot, pool: frozenset[str]) -> bool:
    return spot.unit is not None and (spot.unit.revision in pool or not spot.unit.revision)


def _for(offers: Offers, spot: Spot, stack: int) -> Offer:
    return Offer(spot, stack, note=offers.case.note(spot))


def _pk(spot: Spot) -> int:
    return spot.unit.pk if spot.unit else 0

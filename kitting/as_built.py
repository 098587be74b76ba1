"""The only writer of what stands at a site. Its rows can be folded again from the events."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from django.db.models import Q

from inventory.ledger.line import Line, parse
from inventory.ledger.line import Position as Spot
from inventory.models import Event, Item, Place, PlaceKind, Unit
from inventory.moving import CannotMove
from inventory.queries import the_one
from kitting.access import kit_of_subject
from kitting.models import AsBuilt, Installed, Kit, ScreenReading, Site, Survey
from kitting.snapshot import Position, positions

STEPS = ("fit", "commission", "take_down", "swap", "find_standing", "bring_in")
SCREEN = "screen"  # kind of a starting: it tells what a screen shows, and stands nothing
COUNTS = ("applied", "problem")  # verdicts of events that changed something


def role_at(kit: Kit, stack: int, level: int) -> Position | None:
    """Return what the plan has at this place, None if it has no such place."""
    found = (p for p in positions(kit) if (p.stack, p.level) == (stack, level))
    return next(found, None)


def surveyed(site: Site, stack: int, level: int) -> Position | None:
    """Return what the latest description of a site has at this place, None if it has none."""
    survey = Survey.objects.filter(site=site).order_by("-pk").first()
    found = (Position(**entry) for entry in survey.positions) if survey is not None else iter(())
    return next((p for p in found if (p.stack, p.level) == (stack, level)), None)


def stack_place(site: Place, number: int) -> Place:
    """Return the place of a stack at a site, made on first use."""
    place, _ = Place.objects.get_or_create(
        kind=PlaceKind.STACK,
        code=f"{site.code}-{number}",
        defaults={"name": f"Stack {number}", "parent": site},
    )
    return place


def at(site: Place, stack: int, level: int) -> AsBuilt | None:
    """Return what stands at a position now."""
    rows = AsBuilt.objects.filter(site=site, stack=stack, level=level, until=None)
    return the_one(rows.select_related("unit__item", "item"))


def of(unit: Unit) -> AsBuilt | None:
    """Return where a unit stands now."""
    rows = AsBuilt.objects.filter(unit=unit, until=None)
    return the_one(rows.select_related("site", "unit__item", "item"))


def stand(event: Event, site: Place, position: Position, unit: Unit, number: int | None) -> AsBuilt:
    """A unit stands at a position from this event on."""
    return AsBuilt.objects.create(
        site=site,
        stack=position.stack,
        level=position.level,
        role=position.role,
        unit=unit,
        number=number,
        since=event,
    )


def unseen(event: Event, site: Place, position: Position, item: Item) -> AsBuilt:
    """Something of this kind stands at a position; nobody has seen its serial."""
    return AsBuilt.objects.create(
        site=site,
        stack=position.stack,
        level=position.level,
        role=position.role,
        item=item,
        since=event,
    )


def install(event: Event, rows: Sequence[Installed]) -> list[Installed]:
    """What a file says of stacks that stood before stands from this event on; return it.

    Raises CannotMove where something else stands at such a position.
    """
    for row in rows:
        held = at(row.site, row.stack, row.level)
        kind = row.unit.item_id if row.unit else row.item_id
        if held is not None and (held.unit is not None or held.kind_of.pk != kind):
            raise CannotMove(f"{held.what} stands at {row.stack}/{row.level} of {row.site} by now")
    brought = Installed.objects.bulk_create(rows)
    _stand_installed(event, brought)
    return brought


def told_unseen(site: Place | None = None) -> dict[tuple[int, int, int, int], Installed]:
    """Return `spot` -> what a file says of what nobody has seen there. site: to ask of one only."""
    rows = Installed.objects.filter(unit=None, **({"site": site} if site else {}))
    return {spot(row, row.event_id): row for row in rows}


def spot(row: AsBuilt | Installed, event: int) -> tuple[int, int, int, int]:
    """Return where something stands from this event on (its id)."""
    return event, row.site_id, row.stack, row.level


def _stand_installed(event: Event, rows: Iterable[Installed]) -> None:
    for row in rows:
        earlier = at(row.site, row.stack, row.level)
        if earlier is not None:
            end(earlier, event)
    AsBuilt.objects.bulk_create(
        AsBuilt(
            site=row.site,
            stack=row.stack,
            level=row.level,
            role=row.role,
            unit=row.unit,
            item=row.item,
            number=row.number,
            firmware=row.firmware,
            fitted_on=row.fitted_on,
            since=event,
        )
        for row in rows
    )


def note(row: AsBuilt, number: int | None, firmware: str) -> None:
    """Note the number on screen and the firmware of a unit that stands."""
    if number is not None:
        row.number = number
    if firmware:
        row.firmware = firmware[:60]
    row.save(update_fields=["number", "firmware"])


def firmware_of(line: Line) -> str:
    """Return the firmware that a starting tells; lines of old have it in their reason."""
    return line.firmware or (line.reason if line.step == "commission" else "")


def end(row: AsBuilt, event: Event) -> None:
    """The unit was taken down by this event."""
    row.until = event
    row.save(update_fields=["until"])


def refold(site: Place) -> int:
    """Make a site's rows again from its events, undone ones left out; return how many there are."""
    AsBuilt.objects.filter(site=site).delete()
    for event in _events_at(site):
        _replay(site, event)
    return AsBuilt.objects.filter(site=site).count()


def _events_at(site: Place) -> list[Event]:
    """Events that changed this site, in the order in which they took effect."""
    subjects = [kit.subject for kit in Kit.objects.filter(job__site__place=site)]
    subjects.append(f"site:{site.code}")
    brought = Installed.objects.filter(site=site).values("event")
    events = Event.objects.filter(Q(subject__in=subjects) | Q(pk__in=brought))
    events = events.filter(step__in=STEPS, reversed_by=None)
    latest = {}
    for event in events.prefetch_related("outcomes"):
        outcome = max(event.outcomes.all(), key=lambda outcome: outcome.number)
        if outcome.verdict in COUNTS:
            latest[outcome.number] = event
    return [event for _, event in sorted(latest.items())]


def _replay(site: Place, event: Event) -> None:
    line = parse(event.line)
    if event.step == "bring_in":
        _stand_installed(event, Installed.objects.filter(event=event, site=site))
    elif event.step == "find_standing":
        _replay_found(site, event, line)
    elif event.step == "swap":
        _replay_swap(site, event, line)
    else:
        _replay_step(site, event, line)


def _replay_step(site: Place, event: Event, line: Line) -> None:
    unit, kit = _unit(event), kit_of_subject(event.subject)
    row = of(unit) if unit else None
    if unit is None or kit is None:
        return
    if event.step == "take_down":
        if row is not None:
            end(row, event)
        return
    if row is None and line.position is not None and line.kind != SCREEN:
        position = _role_ever(kit, line.position, unit.item.code)
        if position is not None:
            row = stand(event, site, position, unit, line.number)
    if event.step == "commission" and row is not None:
        note(row, line.number, firmware_of(line))


def _replay_found(site: Place, event: Event, line: Line) -> None:
    """An entry of what others fitted."""
    asked = line.position
    planned = surveyed(site.site, asked.stack, asked.level) if asked else None
    if planned is None:
        return
    earlier = at(site, planned.stack, planned.level)
    moved = event.movements.exclude(unit=None).select_related("unit__item").first()
    if moved is not None and moved.unit is not None:
        if earlier is not None:
            end(earlier, event)
        stand(event, site, planned, moved.unit, line.number)
    elif not line.text and earlier is None:
        item = Item.objects.filter(code=planned.item).first()
        if item is not None:
            unseen(event, site, planned, item)


def _replay_swap(site: Place, event: Event, line: Line) -> None:
    """One out, one in: what moved to a stack is the new one."""
    moves = event.movements.exclude(unit=None).select_related("unit__item", "to_place")
    new = next((m.unit for m in moves if m.to_place.kind == PlaceKind.STACK), None)
    gone = [move.unit for move in moves if move.unit is not None and move.unit != new]
    rows = [row for unit in gone if (row := of(unit))]
    asked = line.position
    there = at(site, asked.stack, asked.level) if asked else next(iter(rows), None)
    kit = kit_of_subject(event.subject)
    position = None
    if there is not None:
        position = Position(there.stack, there.level, there.role, there.kind_of.code)
    elif asked is not None and kit is not None:
        position = _role_ever(kit, asked, new.item.code if new else "")
    for row in {row.pk: row for row in [*rows, there] if row is not None}.values():
        end(row, event)
    if new is not None and position is not None:
        stand(event, site, position, new, line.number)


def _role_ever(kit: Kit, asked: Spot, item: str) -> Position | None:
    """What the plan has at a place, or had before the kit was changed: the one for this item."""
    plans = [kit.snapshot["positions"]]
    plans += [change.old_snapshot["positions"] for change in kit.changes.order_by("-number")]
    there = [
        position
        for entries in plans
        for position in (Position(**entry) for entry in entries)
        if (position.stack, position.level) == (asked.stack, asked.level)
    ]
    return next((p for p in there if p.item in ("", item)), there[0] if there else None)


def _unit(event: Event) -> Unit | None:
    movement = event.movements.exclude(unit=None).select_related("unit__item").first()
    if movement is not None:
        return movement.unit
    shown: ScreenReading | None = getattr(event, "screen_reading", None)
    if shown is not None:
        return shown.unit  # its text is the end of a serial, or nothing was scanned
    scan = getattr(event, "scan", None)
    return scan.unit if scan else None

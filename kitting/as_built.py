"""The only writer of what stands at a site. Its rows can be folded again from the events."""

from __future__ import annotations

from inventory.ledger.line import parse
from inventory.models import Event, Place, PlaceKind, Unit
from inventory.queries import the_one
from kitting.access import kit_of_subject
from kitting.models import AsBuilt, Kit
from kitting.snapshot import Position, positions

STEPS = ("fit", "commission", "take_down")
COUNTS = ("applied", "problem")  # verdicts of events that changed something


def role_at(kit: Kit, stack: int, level: int) -> Position | None:
    """Return what the plan has at this place, None if it has no such place."""
    found = (p for p in positions(kit) if (p.stack, p.level) == (stack, level))
    return next(found, None)


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
    return the_one(rows.select_related("unit__item"))


def of(unit: Unit) -> AsBuilt | None:
    """Return where a unit stands now."""
    return the_one(AsBuilt.objects.filter(unit=unit, until=None).select_related("site"))


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


def note(row: AsBuilt, number: int | None, firmware: str) -> None:
    """Note the number on screen and the firmware of a unit that stands."""
    if number is not None:
        row.number = number
    if firmware:
        row.firmware = firmware[:60]
    row.save(update_fields=["number", "firmware"])


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
    events = Event.objects.filter(step__in=STEPS, subject__in=subjects, reversed_by=None)
    latest = {}
    for event in events.prefetch_related("outcomes"):
        outcome = max(event.outcomes.all(), key=lambda outcome: outcome.number)
        if outcome.verdict in COUNTS:
            latest[outcome.number] = event
    return [event for _, event in sorted(latest.items())]


def _replay(site: Place, event: Event) -> None:
    line, unit = parse(event.line), _unit(event)
    kit = kit_of_subject(event.subject)
    row = of(unit) if unit else None
    if unit is None or kit is None:
        return
    if event.step == "take_down":
        if row is not None:
            end(row, event)
        return
    if row is None and line.position is not None:
        position = role_at(kit, line.position.stack, line.position.level)
        if position is not None:
            row = stand(event, site, position, unit, line.number)
    if event.step == "commission" and row is not None:
        note(row, line.number, line.reason)


def _unit(event: Event) -> Unit | None:
    movement = event.movements.exclude(unit=None).select_related("unit__item").first()
    if movement is not None:
        return movement.unit
    scan = getattr(event, "scan", None)
    return scan.unit if scan else None

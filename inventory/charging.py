"""The charge clock: when each unit on the shelf has to be charged, and what stops an overdue one.

The only writer of charges and of rules about them. Rules are the makers' and data; what a maker's
manual says goes before what is shown here.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import QuerySet

from inventory.amending import amended
from inventory.charge_clock import Band, Stay, due_on
from inventory.intake import Act, Verdict
from inventory.lock import writing
from inventory.models import (
    Charge,
    ChargeRule,
    ContainerMove,
    Event,
    Finding,
    Item,
    Movement,
    Person,
    Place,
    PlaceKind,
    Role,
    Unit,
)
from inventory.models.places import MOVABLE, OUTSIDE
from inventory.moving import CannotMove, Writing
from inventory.scanning import UP

DECIDES = "A manager decides."
SOON = timedelta(days=30)
RULE = "charge rule"  # how amendments name one
YEAR = 365  # days, a leap day apart: so a limit is never told too late


@dataclass(frozen=True, slots=True)
class State:
    """How a unit's charge stands on a day."""

    unit: Unit
    due: date | None  # None: nobody read its last charge
    recharges: int  # given on our shelf
    over: str  # why it may not be charged on, "" if it may
    passed: frozenset[str]  # limits it is beyond: due, recharges, years
    let: bool  # a lead has let it through since its last charge, for each of them

    def word(self, day: date) -> str:
        """Return unknown, over, overdue, soon or good."""
        if self.over:
            return "over"
        if self.due is None:
            return "unknown"
        if self.due <= day:
            return "overdue"
        return "soon" if self.due <= day + SOON else "good"

    def stops(self, day: date) -> bool:
        """Whether it may not go out on this day, and no lead has let it through."""
        return not self.let and self.word(day) in ("over", "overdue")


def states(units: Iterable[Unit], day: date) -> list[State]:
    """Return the state of each unit whose item has a rule, what is due first first."""
    chosen = list(units)
    rules: dict[int, list[ChargeRule]] = defaultdict(list)
    for rule in ChargeRule.objects.filter(item__in={unit.item_id for unit in chosen}):
        rules[rule.item_id].append(rule)
    chosen = [unit for unit in chosen if rules[unit.item_id]]
    if not chosen:
        return []
    charges: dict[int, list[Charge]] = defaultdict(list)
    standing = Charge.objects.filter(unit__in=chosen, event__reversed_by=None)
    for charge in standing.order_by("on", "pk"):
        charges[charge.unit_id].append(charge)
    stays = _stays(chosen)
    found = [
        _state(unit, rules[unit.item_id], charges[unit.pk], stays[unit.pk], day) for unit in chosen
    ]
    return sorted(found, key=lambda one: (one.due is not None, str(one.due), one.unit.serial_key))


def _state(
    unit: Unit, rules: list[ChargeRule], charges: list[Charge], stays: list[Stay], day: date
) -> State:
    kinds = Charge.Kind
    given = [one for one in charges if one.kind != kinds.OVERRIDE]
    recharges = sum(one.kind == kinds.RECHARGE for one in charges)
    bands = [Band(rule.up_to_c, rule.days) for rule in rules]
    last = given[-1].on if given else None
    # Nobody knows how warm it stood before it came here.
    before = [Stay(last, None)] if last and (not stays or stays[0].since > last) else []
    due = due_on(last, [*before, *stays], bands) if last else None
    over = _over(rules, given, recharges, unit, day)
    passed = frozenset(over) | ({"due"} if due is not None and due <= day else frozenset())
    since = given[-1].pk if given else 0
    # Who let it through knew of these limits; one that it passes later is decided anew.
    known = {
        limit
        for one in charges
        if one.kind == kinds.OVERRIDE and one.pk > since
        for limit in one.limits.split()
    }
    told = next(iter(over.values()), "")
    return State(unit, due, recharges, told, passed, bool(passed) and passed <= known)


def _over(
    rules: list[ChargeRule], given: list[Charge], recharges: int, unit: Unit, day: date
) -> dict[str, str]:
    """Return the limits of its rules that a unit has passed, and how each is told."""
    times = [rule.recharges for rule in rules if rule.recharges is not None]
    years = [rule.years for rule in rules if rule.years is not None]
    over = {}
    if times and recharges > min(times):
        over["recharges"] = f"charged {recharges} times on the shelf, {min(times)} are allowed"
    begun = unit.made_on or (given[0].on if given else None)
    if years and begun and (day - begun).days > min(years) * YEAR:
        over["years"] = f"on the shelf since {begun:%-d %b %Y}, {min(years)} years are allowed"
    return over


def _stays(units: Sequence[Unit]) -> dict[int, list[Stay]]:
    """Return unit id -> where it stood from which day on, oldest first."""
    moves: dict[int, list[tuple[date, Place]]] = defaultdict(list)
    rows = Movement.objects.filter(unit__in=units).order_by("pk")
    boxes: set[int] = set()
    for row in rows.select_related(f"to_place__{UP}", "event"):
        moves[row.unit_id or 0].append((row.event.received_at.date(), row.to_place))
        boxes |= {row.to_place_id} if row.to_place.kind in MOVABLE else set()
    carried: dict[int, list[tuple[date, Place]]] = defaultdict(list)
    carries = ContainerMove.objects.filter(place__in=boxes).order_by("pk")
    for move in carries.select_related(f"to_parent__{UP}", "event"):
        carried[move.place_id].append((move.event.received_at.date(), move.to_parent))
    return {unit.pk: _of_moves(moves[unit.pk], carried) for unit in units}


def _of_moves(
    moves: list[tuple[date, Place]], carried: dict[int, list[tuple[date, Place]]]
) -> list[Stay]:
    found: list[Stay] = []
    ends = [since for since, _ in moves[1:]]
    for (since, place), end in zip(moves, [*ends, date.max], strict=True):
        where = carried.get(place.pk, [])
        before = [one for one in where if one[0] <= since][-1:]
        inside = [one for one in where if since < one[0] <= end]
        points = [(since, before[0][1] if before else place), *inside]
        found += [Stay(at, warmest(stood)) for at, stood in points]
    return found


def warmest(place: Place) -> int | None:
    """Return how warm it gets at a place by what is said of it or of what it stands in, in C."""
    return next((one.warmest_c for one in place.way_up() if one.warmest_c is not None), None)


def in_stock() -> list[Unit]:
    """Return the units of items with a rule that stand with us, not at a site."""
    away = (PlaceKind.SITE, PlaceKind.STACK, *OUTSIDE)
    units = Unit.objects.filter(item__charge_rules__isnull=False).exclude(place=None)
    units = units.exclude(place__kind__in=away).distinct().select_related("item", f"place__{UP}")
    return [
        unit
        for unit in units
        if unit.place is not None and not any(p.kind in away for p in unit.place.way_up())
    ]


def stopped_by(unit: Unit, day: date) -> str:
    """Return why this unit may not go out on this day, "" if it may or a lead let it through."""
    if not ChargeRule.objects.filter(item=unit.item_id).exists():
        return ""
    if unit.pk not in stopped([unit], day):
        return ""
    state = states([unit], day)[0]
    if state.over:
        return f"{unit}: {state.over}. {DECIDES}".rstrip(".")
    assert state.due is not None, "what is overdue has a day"
    return f"{unit} has had to be charged since {state.due:%-d %b %Y}. Take another one"


def stopped(units: Iterable[Unit], day: date) -> set[int]:
    """Return the ids of those of these units that may not go out on this day."""
    return {state.unit.pk for state in states(units, day) if state.stops(day)}


def charged(writes: Writing) -> Verdict:
    """The scanned unit was charged today; or kind, an ISO date, is the last charge on its label."""
    unit, today = _unit(writes), writes.event.received_at.date()
    kind, on = Charge.Kind.RECHARGE, today
    if writes.line.kind:
        kind, on = Charge.Kind.LABEL, _day(writes.line.kind)
    if on > today:
        raise CannotMove(f"{on:%-d %b %Y} is still to come. Read the label again")
    Charge.objects.create(event=writes.event, unit=unit, kind=kind, on=on)
    _settle(unit)
    state = states([unit], today)
    if not state:
        return Verdict("applied", f"{unit}: noted. Its item has no rule about charging yet.")
    said = f"{unit}: charged on {on:%-d %b %Y}, again by {state[0].due:%-d %b %Y}."
    over = state[0].over
    if not over:
        return Verdict("applied", said)
    _ask(writes, unit, over)
    return Verdict("problem", f"{said} {over[:1].upper()}{over[1:]}. {DECIDES}")


def _ask(writes: Writing, unit: Unit, over: str) -> None:
    """Open a problem about a limit that was passed, once."""
    if over and not _asked(unit).exists():
        writes.finding(Finding.Kind.WRONG, f"{unit}: {over}. {DECIDES}", unit=unit)


def _asked(unit: Unit) -> QuerySet[Finding]:
    return Finding.objects.filter(unit=unit, words__endswith=DECIDES, answer=None)


def let_through(writes: Writing) -> Verdict:
    """A lead lets a unit go out beyond the limits it has passed by now; until its next charge."""
    unit, today = _unit(writes), writes.event.received_at.date()
    if not writes.line.reason:
        raise CannotMove("Say why it may go out")
    if not stopped_by(unit, today):
        return Verdict("noted", f"{unit}: nothing stops it.")
    reason, limits = writes.line.reason, " ".join(sorted(states([unit], today)[0].passed))
    Charge.objects.create(
        event=writes.event, unit=unit, kind="override", on=today, reason=reason, limits=limits
    )
    for asked in _asked(unit):
        writes.answer(asked, f"Let through: {reason}.")
    return Verdict("applied", f"{unit} may go out: {reason}.")


def _unit(writes: Writing) -> Unit:
    thing = writes.thing
    if thing.unit is not None:
        return thing.unit
    inside = list(Unit.objects.filter(place=thing.place).select_related("item", "lot", "place"))
    if thing.place is None or len(inside) != 1:
        raise CannotMove("Scan one thing with a serial, or its box")
    return inside[0]


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise CannotMove(f"The day of the charge: expected 2026-11-25, got {text[:20]}") from None


def _settle(unit: Unit) -> None:
    """Write the day of the latest charge that stands beside the unit."""
    given = Charge.objects.filter(unit=unit, event__reversed_by=None).exclude(kind="override")
    last = given.order_by("-on").values_list("on", flat=True).first()
    unit.last_charged = last
    Unit.objects.filter(pk=unit.pk).update(last_charged=last)


def brought(event: Event, charges: Sequence[tuple[Unit, date]]) -> None:
    """Note the last charge of units that a file names, as their labels say."""
    kind = Charge.Kind.LABEL
    Charge.objects.bulk_create(Charge(event=event, unit=u, kind=kind, on=on) for u, on in charges)
    for unit, on in charges:
        if unit.last_charged != on:
            _settle(unit)


def unbrought(event: Event) -> None:
    """What a file said of charges no longer counts: its event was undone."""
    for unit in Unit.objects.filter(charges__event=event).distinct():
        _settle(unit)


def rebuild() -> None:
    """Write every unit's last charge anew."""
    for unit in Unit.objects.filter(charges__isnull=False).distinct():
        _settle(unit)


def set_rule(
    item: Item,
    *,
    up_to_c: int,
    days: int,
    recharges: int | None,
    years: int | None,
    source: str,
    by: Person | None = None,
) -> ChargeRule:
    """Say how long an item keeps its charge in one band of warmth; by None: a command says so."""
    now = {"days": days, "recharges": recharges, "years": years, "source": source}
    with writing():
        rows = ChargeRule.objects.filter(item=item, up_to_c=up_to_c)
        amended(by, f"{RULE}:{item.code}:{up_to_c}", rows.values(*now).first() or {}, now)
        rule, _ = rows.update_or_create(item=item, up_to_c=up_to_c, defaults=now)
    return rule


def _undo(writes: Writing, done: Event) -> None:
    today = writes.event.received_at.date()
    for charge in done.charges.select_related("unit__item", f"unit__place__{UP}"):
        _settle(charge.unit)
        # The charges that are left may be too many still; what was let through is not any more.
        for state in states([charge.unit], today):
            if not state.let:
                _ask(writes, charge.unit, state.over)


DESK = frozenset({Role.WAREHOUSE, Role.MANAGER})
CHARGED = Act("charged", DESK, charged, undo=_undo)
LET_THROUGH = Act("let_through", frozenset({Role.MANAGER}), let_through, undo=_undo)

"""What the pages about returns and claims' money show."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import Final

from inventory import carriage, claims
from inventory.ledger.steps import Standing
from inventory.models import Claim, ClaimStep, PlaceKind, Purpose, Return, ReturnStep
from inventory.queries import standing
from inventory.return_routes import ROUTES, Stop
from inventory.returns import lies, open_ones, steps_of
from inventory.scanning import UP


@dataclass(frozen=True, slots=True)
class Walked:
    """One step of a return's route and whether it is done."""

    stop: Stop
    done: bool


@dataclass(frozen=True, slots=True)
class OnWay:
    """An open return with how far it is."""

    found: Return
    walked: tuple[Walked, ...]
    days: int  # since it was opened

    @property
    def next(self) -> str:
        """What has to be done next, "" for nothing."""
        return next((one.stop.words for one in self.walked if not one.done), "")


def route(found: Return, day: date) -> tuple[Walked, ...]:
    """Return the steps of a return's route, those that ask nothing of this thing left out."""
    stops = [s for s in ROUTES[found.kind] if s.key != "packing" or _is_battery(found)]
    stops = [s for s in stops if found.unit is not None or s.key not in OF_UNITS]
    return tuple(Walked(stop, DONE[stop.key](found, day)) for stop in stops)


OF_UNITS: Final = ("claim", "approved", "kept", "apart")


def _is_battery(found: Return) -> bool:
    return found.unit is not None and carriage.battery(found.unit.item)


def _came(found: Return, day: date) -> bool:
    if found.unit is None:
        return bool(_gone(found, day) or _checked(found, day)) or any(
            place.within(PlaceKind.VAN) is None for place in lies(found)
        )
    return standing(found.unit.place) is Standing.SHELF or _gone(found, day)


def _checked(found: Return, day: date) -> bool:
    return steps_of(found).filter(kind=ReturnStep.Kind.CHECKED).exists()


def _shelf(found: Return, day: date) -> bool:
    if _gone(found, day):
        return True
    good = steps_of(found).filter(kind=ReturnStep.Kind.CHECKED, closes=True).exists()
    place = found.unit.place if found.unit is not None else None
    return good and (place is None or not any(around.purpose for around in place.way_up()))


def _apart(found: Return, day: date) -> bool:
    place = found.unit.place if found.unit is not None else None
    apart = place is not None and any(p.purpose == Purpose.APART for p in place.way_up())
    return apart or _gone(found, day)


def _packing(found: Return, day: date) -> bool:
    return carriage.decision(found) is not None


def _claim(found: Return, day: date) -> bool:
    return found.unit is not None and claims.about_unit(found.unit).exists()


def _approved(found: Return, day: date) -> bool:
    made = claims.about_unit(found.unit).first() if found.unit is not None else None
    return made is not None and claims.approval(made) is not None


def _kept(found: Return, day: date) -> bool:
    made = claims.about_unit(found.unit).first() if found.unit is not None else None
    return made is not None and (claims.kept_until(made) <= day or _gone(found, day))


def _told(found: Return, day: date) -> bool:
    return steps_of(found).filter(kind=ReturnStep.Kind.TOLD).exists()


def _gone(found: Return, day: date) -> bool:
    return steps_of(found).filter(kind__in=("sent", "scrapped")).exists()


DONE: Final[dict[str, Callable[[Return, date], bool]]] = {
    "came": _came,
    "checked": _checked,
    "shelf": _shelf,
    "apart": _apart,
    "packing": _packing,
    "claim": _claim,
    "approved": _approved,
    "kept": _kept,
    "told": _told,
    "gone": _gone,
}


def on_way(day: date, most: int) -> tuple[list[OnWay], int]:
    """Return the oldest open returns, at most so many, and how many there are."""
    rows = open_ones().order_by("pk")
    whole = rows.select_related("event", "unit__item", f"unit__place__{UP}", "lot__item")
    found = [
        OnWay(one, route(one, day), (day - one.event.received_at.date()).days)
        for one in whole[:most]
    ]
    return found, rows.count()


@dataclass(frozen=True, slots=True)
class Owed:
    """A claim whose credit has not come, or not all of it."""

    claim: Claim
    expected: int  # cents
    credited: int  # cents
    days: int  # since it was opened

    @property
    def left(self) -> int:
        """Cents still to come."""
        return self.expected - self.credited


NOTHING_COMES: Final = ("refused", "dropped", "replaced", "found")


def money(claim: Claim) -> tuple[int, int]:
    """Return cents asked for (the latest counts) and cents credited (all of them)."""
    steps = [s for s in claim.steps.all() if not hasattr(s.event, "reversed_by")]
    asked = [s.amount or 0 for s in steps if s.kind == ClaimStep.Kind.EXPECTED]
    came = sum(s.amount or 0 for s in steps if s.kind == ClaimStep.Kind.CREDIT)
    return (asked[-1] if asked else 0), came


def owed(day: date) -> list[Owed]:
    """Return the credits that are still to come, the oldest claim first."""
    with_money = Claim.objects.filter(steps__kind=ClaimStep.Kind.EXPECTED).distinct()
    found = []
    whole = with_money.select_related("event", "partner", "unit__item", "delivery")
    for claim in whole.prefetch_related("steps__event__reversed_by"):
        ended = {s.value for s in claim.steps.all() if s.closes}
        expected, credited = money(claim)
        days = (day - claim.event.received_at.date()).days
        if expected > credited and not ended.intersection(NOTHING_COMES):
            found.append(Owed(claim, expected, credited, days))
    return sorted(found, key=lambda one: -one.days)

"""What the pages about returns and claims' money show."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from django.db.models import Case, When

from inventory import carriage, claiming, claims
from inventory.ledger.steps import Standing
from inventory.models import (
    Claim,
    ClaimStep,
    Finding,
    Place,
    PlaceKind,
    Purpose,
    Return,
    ReturnKind,
    ReturnStep,
)
from inventory.queries import standing
from inventory.return_routes import GRAVE, ROUTES, Stop
from inventory.returns import lies, open_of_units, open_ones, put_right
from inventory.scanning import UP


@dataclass(frozen=True, slots=True)
class Walked:
    """One step of a return's route and whether it is done."""

    stop: Stop
    done: bool
    more: str = ""  # until when, to whom
    over: bool = False  # it left us before this was done, and nobody does it any more


@dataclass(frozen=True, slots=True)
class OnWay:
    """An open return with how far it is."""

    found: Return
    walked: tuple[Walked, ...]
    days: int  # since it was opened

    @property
    def next(self) -> str:
        """What has to be done next, "" for nothing."""
        open_one = next((one for one in self.walked if not (one.done or one.over)), None)
        if open_one is None:
            return ""
        return f"{open_one.stop.words}{f' ({open_one.more})' if open_one.more else ''}"


@dataclass(frozen=True, slots=True)
class Seen:
    """What the steps of a route are judged by, fetched for many returns at once."""

    found: Return
    steps: tuple[ReturnStep, ...]  # those that stand
    claim: Claim | None  # the newest about the unit
    lies: tuple[Place, ...]  # of a quantity: where it waits
    battery: bool
    day: date
    apart: str  # names of the places where such things stand apart, "" for none

    def did(self, *kinds: str) -> bool:
        """Whether a step of one of these kinds was done."""
        return any(step.kind in kinds for step in self.steps)

    def in_purpose(self, *purposes: str) -> bool:
        """Whether the unit stands in a place kept for one of these."""
        place = self.found.unit.place if self.found.unit is not None else None
        return place is not None and any(p.purpose in purposes for p in place.way_up())


def seen(returns: Sequence[Return], day: date) -> list[Seen]:
    """Return what is known of each of these, in some five queries."""
    units = [one.unit_id for one in returns if one.unit_id is not None]
    made: dict[int, Claim] = {}
    claimed = Claim.objects.filter(unit__in=units, event__reversed_by=None).order_by("pk")
    fetched = ("steps__event__reversed_by", "steps__partner")
    for claim in claimed.select_related("event", "partner").prefetch_related(*fetched):
        made[claim.unit_id or 0] = claim
    steps: dict[int, list[ReturnStep]] = defaultdict(list)
    for step in ReturnStep.objects.filter(of__in=returns, event__reversed_by=None).order_by("pk"):
        steps[step.of_id].append(step)
    grave = {one.item for one in returns if one.unit is not None and one.kind in GRAVE}
    places = Place.objects.filter(purpose=Purpose.APART).order_by("order", "code")
    apart = ", ".join(places.values_list("name", flat=True))
    batteries = {item.pk for item in grave if carriage.battery(item)}
    return [
        Seen(
            one,
            tuple(steps[one.pk]),
            made.get(one.unit_id or 0),
            tuple(lies(one)),
            one.unit is not None and one.item.pk in batteries,
            day,
            apart,
        )
        for one in returns
    ]


def route(known: Seen) -> tuple[Walked, ...]:
    """Return the steps of a return's route, those that ask nothing of this thing left out."""
    stops = [s for s in ROUTES[known.found.kind] if s.key != "packing" or known.battery]
    stops = [s for s in stops if known.found.unit is not None or s.key not in OF_UNITS]
    if known.claim is None or not claims.of_a_swap(known.claim):
        stops = [s for s in stops if s.key != "carton"]
    gone = _gone(known)
    return tuple(
        Walked(stop, done, _more(stop, known), over=gone and not done)
        for stop in stops
        for done in [DONE[stop.key](known)]
    )


def _more(stop: Stop, known: Seen) -> str:
    """Which place, whom a claim is put to, until when its thing is kept."""
    if stop.key == "apart":
        return known.apart or "none is entered: a manager enters one under Places and vans"
    if known.claim is None or stop.key not in ("claim", "approved", "kept"):
        return ""
    if stop.key == "kept":
        return f"until {claims.kept_until(known.claim):%-d %b %Y}"
    partner = claims.partner_of(known.claim)
    return known.claim.code if stop.key == "claim" else str(partner or "put to nobody yet")


OF_UNITS: Final = ("claim", "approved", "kept", "apart")


def _came(known: Seen) -> bool:
    if known.found.unit is None:
        here = any(place.within(PlaceKind.VAN) is None for place in known.lies)
        return here or known.did(ReturnStep.Kind.CHECKED)
    return standing(known.found.unit.place) is Standing.SHELF


def _shelf(known: Seen) -> bool:
    good = any(step.kind == ReturnStep.Kind.CHECKED and step.closes for step in known.steps)
    return _gone(known) or (good and not known.in_purpose(*Purpose.values))


def _carton(known: Seen) -> bool:
    stands = known.found.unit.place if known.found.unit is not None else None
    boxed = stands is not None and stands.kind == PlaceKind.CARTON
    steps = known.claim.steps.all() if known.claim is not None else ()
    said = any(s.value == "carton" and not hasattr(s.event, "reversed_by") for s in steps)
    return boxed or said


def _approved(known: Seen) -> bool:
    return known.claim is not None and claims.approval(known.claim) is not None


def _kept(known: Seen) -> bool:
    until = claims.kept_until(known.claim) if known.claim is not None else None
    return until is not None and until <= known.day


def _gone(known: Seen) -> bool:
    return known.did(ReturnStep.Kind.SENT, ReturnStep.Kind.SCRAPPED)


DONE: Final[dict[str, Callable[[Seen], bool]]] = {
    "came": _came,
    "checked": lambda known: known.did(ReturnStep.Kind.CHECKED),
    "shelf": _shelf,
    "apart": lambda known: known.in_purpose(Purpose.APART),
    "carton": _carton,
    "packing": lambda known: known.did(ReturnStep.Kind.PACKING),
    "claim": lambda known: known.claim is not None,
    "approved": _approved,
    "kept": _kept,
    "told": lambda known: (
        known.did(ReturnStep.Kind.TOLD)
        or (known.found.unit is not None and put_right(known.found.unit))
    ),
    "gone": _gone,
}


def on_way(day: date, most: int) -> tuple[list[OnWay], int]:
    """Return open returns, at most so many, and how many there are.

    What may be dangerous comes first, then the oldest: a cracked battery never stands behind plugs.
    """
    later = Case(When(kind__in=GRAVE, then=0), default=1)
    rows = open_ones().order_by(later, "pk")
    rules = ("unit__item__return_rule", "lot__item__return_rule")
    whole = rows.select_related("event", f"unit__place__{UP}", *rules)
    found = [
        OnWay(one.found, route(one), (day - one.found.event.received_at.date()).days)
        for one in seen(list(whole[:most]), day)
    ]
    return found, rows.count()


def as_new(found: OnWay) -> str:
    """Return the verdict by which this one may go back to its shelf in one touch, "" for none.

    Only what nobody has to read, judge by rank or look at the packing of: left-over parts, and
    what stands in its own box.
    """
    one = found.found
    if one.kind not in (ReturnKind.LEFT, ReturnKind.DOWN) or one.kind in GRAVE:
        return ""
    if not any(w.stop.key == "checked" and not w.done for w in found.walked):
        return ""
    rule = getattr(one.item, "return_rule", None)
    if rule is not None and rule.reading:
        return ""
    if one.unit is None:
        return "as_new"
    boxed = one.unit.place is not None and one.unit.place.kind == PlaceKind.CARTON
    return "as_new:original" if boxed else ""


@dataclass(frozen=True, slots=True)
class Asked:
    """What follows from a problem told of a unit: its open return, its open claim."""

    back: Return | None
    claim: Claim | None
    about: str  # what would be claimed, one of About; "" where nothing is


WRONG_ONE: Final = ("wrong", "request")
"""Steps that say that another thing came; other steps find something wrong with how it stands."""
CLAIMED: Final = {Finding.Kind.DAMAGED: ReturnKind.DAMAGED, Finding.Kind.WRONG: ReturnKind.WRONG}


def _of_a_thing(finding: Finding) -> bool:
    """Whether the thing itself is what is wrong, so that somebody may be asked for another."""
    wrong = finding.kind == Finding.Kind.WRONG
    return finding.kind in CLAIMED and (not wrong or finding.event.step in WRONG_ONE)


def asked_of(findings: Iterable[Finding]) -> dict[int, Asked]:
    """Return id of a problem -> what follows from it, in two queries; those about units only."""
    told = [one for one in findings if one.unit_id is not None]
    units = [one.unit_id for one in told]
    backs = open_of_units(units)
    claimed = claims.open_ones().filter(unit__in=units, event__reversed_by=None).order_by("pk")
    made = {one.unit_id: one for one in claimed}
    found = {}
    for one in told:
        back = backs.get(one.unit_id or 0)
        kind = back.kind if back is not None else CLAIMED.get(Finding.Kind(one.kind), "")
        about = claiming.advised(kind) if _of_a_thing(one) else ""
        found[one.pk] = Asked(back, made.get(one.unit_id), about)
    return found


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

"""One van and all its loads of a day: what the rules say to it, finding by finding, who decides.

Source: ADR 1.1.3.6.3 and 1.1.3.6.4 (both tests), Reg. (EU) 1230/2012 (mass in running order), HSE
L23 and INDG143 (one person's and a team's share). It says what a rule says in figures; it never
says that a load may go.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from kitting.plan.figures import lifting, transport, vans

PERSON_KG: Final = 75
"""Reg. (EU) 1230/2012 counts a driver so; others likewise."""
SHARE_KG: Final = lifting.filter_kg("elbow", "close")["men"]
"""One fit person's at best, close to the body (HSE INDG143)."""
BASES: Final = ("without packaging", "with packaging")
"""How the mass of batteries is counted for ADR: an older text counts the gross mass of the
articles, newer ones their mass without packaging."""
ABOARD: Final = "on board from before"
"""What lies in the van and belongs to no job of the day is shared out under this name."""
OVER, LOOK, WITHIN = "over", "look", "within"


@dataclass(frozen=True, slots=True)
class Vehicle:
    """What the van's papers say, and what is fitted in it."""

    gross: int
    """kg it may weigh in all."""
    ready: int
    """kg in running order."""
    with_driver: bool
    """The mass in running order holds a driver of 75 kg already (EU papers)."""
    persons: int
    """Who rides, the driver counted."""
    fitted: int
    """kg of racks and standing tools."""
    wheelbase: int = 0
    """mm; 0 = not said."""
    load_at: int = 0
    """mm from the front axle to the middle of the load; 0 = not said."""

    def payload(self) -> float:
        """kg left for the load."""
        more = max(0, self.persons - 1) if self.with_driver else self.persons
        return vans.payload(self.gross, self.ready, self.with_driver, more, PERSON_KG, self.fitted)


@dataclass(frozen=True, slots=True)
class Piece:
    """So many of one thing."""

    name: str
    count: int
    kg: float
    """One of them; of an amount (cable, sealant) the whole, with count 1."""
    battery: bool
    """A lithium battery, UN 3480."""
    amount: bool = False
    """No piece that somebody lifts whole."""

    @property
    def mass(self) -> float:
        """kg of all."""
        return self.count * self.kg


@dataclass(frozen=True, slots=True)
class Load:
    """What one job takes along and what comes back from it."""

    job: str
    out: tuple[Piece, ...]
    back: tuple[Piece, ...] = ()
    parcels: int = 0
    """Parcels and boxes that belong to it."""
    present: int = 0
    """Those on the van."""
    crew: int = 1


Leg = tuple[str, list[tuple[str, tuple[Piece, ...]]]]
"""A moment of the day, and what lies in the van then by job."""


@dataclass(frozen=True, slots=True)
class Basis:
    """How the mass of batteries counts for ADR."""

    which: str = BASES[0]
    packing: float = 0
    """kg of packaging on each battery, counted where `which` is with packaging."""

    def kg(self, pieces: Sequence[Piece]) -> float:
        """kg of batteries."""
        packing = self.packing if self.which == BASES[1] else 0
        return sum(one.count * (one.kg + packing) for one in pieces if one.battery)


@dataclass(frozen=True, slots=True)
class Share:
    """One job's part at the worst moment of the day."""

    job: str
    batteries: float
    """kg as ADR counts them."""
    mass: float
    """kg of all."""


@dataclass(frozen=True, slots=True)
class Finding:
    """What one rule says."""

    rule: str
    tone: str
    """over: past the rule's figure; look: a person looks; within: the figure is kept."""
    words: str
    figures: Mapping[str, float]
    source: str
    decides: str


@dataclass(frozen=True, slots=True)
class Checked:
    """A van's day."""

    findings: tuple[Finding, ...]
    shares: tuple[Share, ...]
    """By job, at the worst moment."""
    moment: str
    """When the batteries weigh most: "leaving the depot" or "after J1001"."""

    def over(self) -> tuple[Finding, ...]:
        """Findings past a rule's figure."""
        return tuple(one for one in self.findings if one.tone == OVER)


def check(
    vehicle: Vehicle | None,
    loads: Sequence[Load],
    basis: Basis = Basis(),
    aboard: Sequence[Piece] = (),
) -> Checked:
    """Judge a van's day by every rule. loads in the order of the day; vehicle None: its papers are
    not entered yet. aboard: what lies in it the whole day and belongs to none of the jobs."""
    day = legs(loads, aboard)
    moment, shares = _worst(day, basis)
    findings = [
        _carriage(shares, moment, basis),
        _room(vehicle, _heaviest(day)),
        *_axles(vehicle, _heaviest(day)),
        *_parcels(loads),
        *_lifts(loads),
        *_returns(loads, aboard),
    ]
    return Checked(tuple(findings), shares, moment)


def legs(loads: Sequence[Load], aboard: Sequence[Piece] = ()) -> list[Leg]:
    """Each leg of the day with what lies in the van by job: out with everything, then job by job
    without what stays there and with what comes back."""
    always = [(ABOARD, tuple(aboard))] if aboard else []
    found = [("leaving the depot", [*((one.job, one.out) for one in loads), *always])]
    for at, done in enumerate(loads, 1):
        inside = [(one.job, one.back) for one in loads[:at]]
        inside += [(one.job, one.out) for one in loads[at:]]
        found.append((f"after {done.job}", [*inside, *always]))
    return found


def _worst(day: Sequence[Leg], basis: Basis) -> tuple[str, tuple[Share, ...]]:
    days = [
        (moment, tuple(Share(job, basis.kg(pieces), _mass(pieces)) for job, pieces in inside))
        for moment, inside in day
    ]
    # The first of equals: what is seen at the depot can still be changed there.
    return max(days, key=lambda day: round(sum(share.batteries for share in day[1]), 6))


def _mass(pieces: Sequence[Piece]) -> float:
    return sum(one.mass for one in pieces)


def _carriage(shares: Sequence[Share], moment: str, basis: Basis) -> Finding:
    kg = sum(share.batteries for share in shares)
    judged = transport.judge([(transport.LITHIUM, kg)])
    most = transport.category(transport.LITHIUM).most or 0
    words = (
        f"Batteries {moment}: {kg:.1f} kg {basis.which}. ADR counts {judged.points:g} points of"
        f" {transport.MOST_POINTS}, and {kg:.1f} kg of the {most:g} kg of category 2."
    )
    if not judged.within:
        words += (
            " That is past the exemption by quantity: share it out, or carry it by the whole rule."
        )
    return Finding(
        "ADR 1.1.3.6",
        WITHIN if judged.within else OVER,
        words,
        {"kg": round(kg, 3), "points": judged.points, "limit_kg": most},
        "ADR 1.1.3.6.3 and 1.1.3.6.4, edition 2023",
        "the dangerous goods adviser and the authority; transport document, packing and training"
        " apply below the figure too",
    )


def _room(vehicle: Vehicle | None, heaviest: float) -> Finding:
    decides = "the driver and the van's papers; a weighbridge where it is close"
    source = "gross mass less mass in running order, persons and fitted kit (Reg. (EU) 1230/2012)"
    if vehicle is None:
        words = f"The load weighs {heaviest:.0f} kg at most. What the van may carry is not entered."
        return Finding("payload", LOOK, words, {"load_kg": round(heaviest, 3)}, source, decides)
    room = vehicle.payload()
    words = f"The load weighs {heaviest:.0f} kg at most; the van has room for {room:.0f} kg."
    figures = {"load_kg": round(heaviest, 3), "room_kg": room}
    tone = OVER if heaviest > room else WITHIN
    return Finding("payload", tone, words, figures, source, decides)


def _heaviest(day: Sequence[Leg]) -> float:
    return max((sum(_mass(pieces) for _, pieces in inside) for _, inside in day), default=0.0)


def _axles(vehicle: Vehicle | None, kg: float) -> list[Finding]:
    if vehicle is None or not vehicle.wheelbase or not vehicle.load_at:
        return []
    found = vans.axles(vehicle.wheelbase / 1000, [(kg, vehicle.load_at / 1000)])
    rear, front = found["rear_add_kg"], found["front_add_kg"]
    words = (
        f"The load puts {rear:.0f} kg on the rear axle and {front:.0f} kg on the front one. Look at"
        " both axle limits in the van's papers."
    )
    if front < 0:
        words += " It lies behind the rear axle and lifts the front: move it forward."
    decides = "the driver and the van's papers"
    return [Finding("axles", LOOK, words, found, "moments about the front axle", decides)]


def _parcels(loads: Sequence[Load]) -> list[Finding]:
    found = []
    for load in loads:
        missing = load.parcels - load.present
        if missing > 0:
            words = (
                f"{load.job}: {load.present} of {load.parcels} parcels and boxes are on the van."
            )
            figures = {"parcels": load.parcels, "present": load.present}
            found.append(
                Finding("parcels", LOOK, words, figures, "the scans of loading", "the crew")
            )
    return found


def _lifts(loads: Sequence[Load]) -> list[Finding]:
    people = min((load.crew for load in loads), default=1)
    guide = lifting.team([SHARE_KG] * people) if people in lifting.TEAM else None
    kinds: dict[tuple[str, float], int] = {}
    for load in loads:
        for piece in (*load.out, *load.back):
            if not piece.amount and piece.kg > SHARE_KG:
                key = (piece.name, piece.kg)
                kinds[key] = kinds.get(key, 0) + piece.count
    return [_lift(name, kg, count, people, guide) for (name, kg), count in kinds.items()]


def _lift(name: str, kg: float, count: int, people: int, guide: float | None) -> Finding:
    figures = {"kg": kg, "one_person_kg": float(SHARE_KG)}
    words = f"{count} x {name} of {kg:g} kg: above the {SHARE_KG} kg of one person at best."
    if people == 1:
        words += " One person goes: a second one or a lifting aid is asked."
    elif guide is None:
        words += f" {people} people have no guide figure: plan the lift."
    else:
        figures["team_kg"] = round(guide, 1)
        words += f" The guide for {people} people is {guide:.1f} kg"
        words += ": a lifting aid is asked." if kg > guide else "."
    return Finding(
        "lifting",
        OVER if people == 1 or (guide is not None and kg > guide) else LOOK,
        words,
        figures,
        "HSE INDG143 filter and L23 team guide",
        "the firm's own lifting assessment; the maker's manual",
    )


def _returns(loads: Sequence[Load], aboard: Sequence[Piece]) -> list[Finding]:
    jobs = [load.job for load in loads if any(one.battery for one in load.back)]
    kept = [f"{one.count} x {one.name}" for one in aboard if one.battery]
    if not jobs and not kept:
        return []
    told = [f"Batteries come back from {', '.join(jobs)}."] if jobs else []
    told += [f"Still {ABOARD}: {', '.join(kept)}."] if kept else []
    words = (
        f"{' '.join(told)} A damaged one travels by other rules (SP"
        " 376): one that is hot, swollen, leaking, smoking or hissing is not loaded; people away,"
        " call the fire service."
    )
    return [
        Finding(
            "batteries that come back",
            LOOK,
            words,
            {"jobs": float(len(jobs))},
            "ADR special provision 376",
            "the maker's service and the dangerous goods adviser",
        )
    ]

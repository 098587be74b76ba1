"""What a claim needs: each entry, whether the record has it or somebody gave it, and what lacks.

The list is that of one maker's claim table and service guide and a claim page that refuses what
lacks them, as gathered for this project; what a partner wants besides is data (PartnerNeed).
Freight damage: photographs of thing and packing, and the remark on the slip (common practice).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from inventory import carriage, claims
from inventory.ledger.line import parse
from inventory.models import (
    About,
    Charge,
    Claim,
    ClaimStep,
    Event,
    Finding,
    Outcome,
    PlaceKind,
    Return,
    ReturnStep,
    Unit,
)

_SERVICE: Final = frozenset({About.FAULT})
_THING: Final = frozenset({About.FAULT, About.DEAD, About.RECALL})
_FREIGHT: Final = frozenset({About.DAMAGE, About.HIDDEN})
_EVERY: Final = frozenset(About)
_NOT_SHORT: Final = _EVERY - {About.SHORTAGE}


LATER: Final = frozenset({"removed", "approval", "carton", "packing", "carrier"})


@dataclass(frozen=True, slots=True)
class Need:
    """One entry of what a claim needs."""

    key: str
    words: str
    about: frozenset[str]  # kinds of claims that need it


@dataclass(frozen=True, slots=True)
class Entry:
    """How one need stands."""

    key: str
    words: str
    value: str  # what is known, "" where it lacks
    how: str  # "from the record", "entered", "" where it lacks
    photo: str = ""  # SHA-256

    @property
    def later(self) -> bool:
        """Whether it can only be there when they have answered, or when the thing has come off."""
        return self.missing and self.key in LATER

    @property
    def missing(self) -> bool:
        """Whether nobody has it yet."""
        return not self.value and not self.photo


NEEDS: Final[dict[str, Need]] = {
    key: Need(key, words, about)
    for key, words, about in (
        ("serial", "Serial, model and revision", _NOT_SHORT),
        ("plate", "Photo of the rating plate", _NOT_SHORT),
        ("note", "Delivery: note and day", _EVERY),
        ("invoice", "Number of the invoice", _NOT_SHORT),
        ("slip", "What stands on the driver's slip", frozenset({About.SHORTAGE, About.DAMAGE})),
        ("damage", "Photo of the damage", _FREIGHT),
        ("packaging", "Photo of the packing; the packing is kept", _FREIGHT),
        ("opened", "Day it was unpacked", frozenset({About.HIDDEN, About.DEAD})),
        ("storage", "Days and warmth of storage, days of charging", _SERVICE),
        ("installed", "Day of installation", _SERVICE),
        ("commissioned", "Day of commissioning", _SERVICE),
        ("removed", "Day it came off", _SERVICE),
        ("position", "Place in the stack and number on screen", _SERVICE),
        ("configuration", "Configuration with the number of modules", _THING),
        ("modules", "Serials of all modules", _SERVICE),
        ("control", "Serial of the control unit", _SERVICE),
        ("inverter", "Inverter: type, serial, firmware, how it is set, how it is run", _SERVICE),
        ("firmware", "Firmware of control unit and module, then and now", _THING),
        ("portal", "Access to their portal", _SERVICE),
        ("error", "Code and lights shown, event log, screenshot", _THING),
        ("symptom", "First seen, how often, what was tried", _THING),
        ("voltages", "Voltage of each module with its serial", _SERVICE),
        ("measured", "Lowest and highest cell, insulation, ohms of the data line", _SERVICE),
        ("charge", "Charge it showed", _SERVICE),
        ("history", "On or off since it came, how it was left and why", _SERVICE),
        ("address", "Address and contact", _SERVICE),
        ("surroundings", "Indoors or outdoors, how warm, on what, how much room around", _SERVICE),
        ("site", "Photos of the whole stack, entries and labels", _SERVICE),
        ("certificate", "Certificate and licence of who installed it", _SERVICE),
        ("approval", "Their number, before it is sent", _NOT_SHORT),
        ("carton", "The replacement's box is kept to send this one in", _THING),
        ("packing", "How it is packed and carried, decided by a named person", _THING | _FREIGHT),
        ("carrier", "Who carries it back, number to follow it by", _NOT_SHORT),
    )
}

Facts = Callable[[Unit], dict[str, str]]
_ASKED: list[Facts] = []


def register(asks: Facts) -> None:
    """Let `asks` say what the upper house knows of a unit: key of a need -> value."""
    if asks not in _ASKED:
        _ASKED.append(asks)


def key_fits(claim: Claim, key: str) -> bool:
    """Whether this claim needs something of this key."""
    return any(entry.key == key for entry in entries(claim))


def entries(claim: Claim) -> list[Entry]:
    """Return what a claim needs, in order, each with what is there."""
    known = _known(claim)
    given: dict[str, ClaimStep] = {}
    for step in claims.steps_of(claim).filter(kind=ClaimStep.Kind.NEED).order_by("pk"):
        given[step.value] = step
    wanted = [(need.key, need.words) for need in NEEDS.values() if claim.about in need.about]
    wanted = [(key, words) for key, words in wanted if _asked(claim, key)]
    partner = claims.partner_of(claim)
    if partner is not None:
        own = partner.needs.filter(about=claim.about)
        wanted += [(need.key, f"{need.words} ({partner})") for need in own]
    return [_entry(key, words, known, given.get(key)) for key, words in wanted]


def missing(claim: Claim) -> list[str]:
    """Return in words what nobody has yet."""
    return [entry.words for entry in entries(claim) if entry.missing]


def _entry(key: str, words: str, known: dict[str, str], given: ClaimStep | None) -> Entry:
    if given is not None:
        said = given.words.removeprefix(f"{words}: ")  # its name stands beside it
        return Entry(key, words, said, "entered", given.photo)
    value = known.get(key, "")
    photo = value if key in ("damage", "packaging", "plate") else ""
    if photo:
        return Entry(key, words, "photo", "from the record", photo)
    return Entry(key, words, value, "from the record" if value else "")


def _asked(claim: Claim, key: str) -> bool:
    """What only some things need: packing is of batteries, a box is of what was replaced."""
    if key == "packing":
        return claim.unit is not None and carriage.battery(claim.unit.item)
    if key == "carton":
        return claims.of_a_swap(claim)
    if key in ("serial", "plate", "carrier"):
        return claim.unit is not None
    return True


def _known(claim: Claim) -> dict[str, str]:
    """Key -> what the record has; the upper house's facts too."""
    known: dict[str, str] = {}
    delivery = claim.delivery
    if delivery is not None:
        counted = claims.counted_at(delivery)
        day = f", {counted.received_at:%-d %b %Y}" if counted else ""
        known["note"] = f"{delivery.note}{day}"
        known["slip"] = _slip(claim)
    approval = claims.approval(claim)
    if approval is not None:
        known["approval"] = approval.value
    unit = claim.unit
    if unit is not None:
        for asks in _ASKED:
            known |= asks(unit)
        known |= _of_unit(unit)
    opening = parse(claim.event.line).photo or _told_with(claim)
    if opening and "damage" not in known:
        known["damage"] = opening
    return {key: value for key, value in known.items() if value}


def _told_with(claim: Claim) -> str:
    """The photo of the problem that was told by the event which opened the claim."""
    told = Finding.objects.filter(event=claim.event, photo__gt="").order_by("pk")
    return told.values_list("photo", flat=True).first() or ""


def _slip(claim: Claim) -> str:
    gone = Event.objects.filter(
        subject=f"delivery:{claim.delivery.code}" if claim.delivery else "",
        step="driver_gone",
        reversed_by=None,
    ).first()
    said = Outcome.objects.filter(event=gone, verdict="applied").order_by("-number").first()
    return said.sentence if said is not None else ""


def _of_unit(unit: Unit) -> dict[str, str]:
    parts = [unit.item.code, unit.item.name, unit.serial]
    parts += [f"revision {unit.revision}"] if unit.revision else []
    parts += [f"made {unit.made_on}"] if unit.made_on else []
    known = {"serial": ", ".join(parts), "storage": _storage(unit), "opened": _opened(unit)}
    damage = Finding.objects.filter(unit=unit, kind=Finding.Kind.DAMAGED, photo__gt="")
    known["damage"] = damage.order_by("pk").values_list("photo", flat=True).first() or ""
    found = Return.objects.filter(unit=unit, event__reversed_by=None).order_by("-pk").first()
    decided = carriage.decision(found) if found is not None else None
    if decided is not None:
        known["packing"] = f"{decided.words}, {decided.event.person.name}"
    if found is not None:
        sent = found.steps.filter(kind=ReturnStep.Kind.SENT, event__reversed_by=None).last()
        known["carrier"] = sent.words if sent is not None else ""
    return known


def _storage(unit: Unit) -> str:
    charged = Charge.objects.filter(unit=unit, event__reversed_by=None).exclude(kind="override")
    days = ", ".join(f"{on:%-d %b %Y}" for on in charged.values_list("on", flat=True))
    came = unit.movements.filter(event__step="receive", event__reversed_by=None).order_by("pk")
    first = came.select_related("event").first()
    told = f"here since {first.event.received_at:%-d %b %Y}" if first is not None else ""
    return f"{told}; charged {days}" if told and days else told


def _opened(unit: Unit) -> str:
    moves = unit.movements.filter(event__reversed_by=None, from_place__kind=PlaceKind.CARTON)
    first = moves.order_by("pk").select_related("event").first()
    return f"{first.event.received_at:%-d %b %Y}" if first is not None else ""

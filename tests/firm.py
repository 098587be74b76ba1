"""A small invented firm for tests of the lower house: people, places, items, and who scans what."""

from __future__ import annotations

import json
import uuid
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any

from inventory import intake
from inventory.intake import Result
from inventory.ledger.ids import uuid7
from inventory.models import Device, Item, ItemCode, Person, Place, Unit

NOW = datetime(2026, 11, 25, 6, 30, tzinfo=UTC)
MODULE_GTIN = "09521234000013"  # prefix 952 is for examples (GS1 General Specifications)


@dataclass
class Phone:
    """A device in somebody's hand: numbers its events and keeps the lines it made."""

    person: Person
    device: Device
    seq: int = 0
    sent: list[str] = field(default_factory=list)

    def line(self, step: str, text: str = "", **more: Any) -> str:
        """One event line; `more` adds or replaces fields, None leaves one out."""
        self.seq += 1
        data: dict[str, Any] = {
            "v": 1,
            "id": str(uuid7()),
            "device": str(self.device.uid),
            "seq": self.seq,
            "at": "2026-11-25T06:10:00.000Z",
            "step": step,
            "text": text,
            "via": "keys",
            **{("from" if name == "start" else name): value for name, value in more.items()},
        }
        kept = {name: value for name, value in data.items() if value not in (None, "")}
        return json.dumps(kept, separators=(",", ":"))

    def send(self, *lines: str) -> list[Result]:
        """Hand lines to the intake as this person."""
        self.sent += lines
        return intake.take(self.person, lines, NOW)

    def scan(self, step: str, text: str = "", **more: Any) -> Result:
        """Send one event."""
        return self.send(self.line(step, text, **more))[0]


@dataclass
class Firm:
    """Who and what there is."""

    wanda: Phone  # warehouse
    mona: Phone  # manager
    tariq: Phone  # technician
    dock: Place
    bins: list[Place]
    van: Place
    module: Item  # by serial
    bracket: Item  # by number
    sealant: Item  # by batch

    def phone(self, person: Person) -> Phone:
        """Give somebody one more device."""
        return Phone(person, Device.objects.create(person=person))

    def unit(self, serial: str) -> Unit:
        """The module of that serial, as the database has it."""
        return Unit.objects.select_related("place").get(serial=serial)


def element_string(serial: str) -> str:
    """What the label of a module says, as a scanner types it."""
    return f"]C101{MODULE_GTIN}21{serial}"


def device_of(name: str) -> uuid.UUID:
    """The id of somebody's first phone: the same in every database, for a digest counts it."""
    return uuid.uuid5(uuid.NAMESPACE_DNS, f"{name}.example.com")


def build() -> Firm:
    """Enter a firm with one depot, one van and three items into the empty database."""
    people = {
        name: Person.objects.create_user(name, name=name.title(), roles=[role])
        for name, role in (("wanda", "warehouse"), ("mona", "manager"), ("tariq", "technician"))
    }
    phones = {
        name: Phone(person, Device.objects.create(person=person, uid=device_of(name)))
        for name, person in people.items()
    }
    depot = Place.objects.create(kind="depot", code="DEPOT", name="Depot")
    dock = Place.objects.create(kind="dock", code="DOCK", name="Dock", parent=depot)
    bins = [
        Place.objects.create(kind="bin", code=f"BIN{n}", name=f"Bin {n}", parent=depot, order=n)
        for n in (1, 2, 3)
    ]
    van = Place.objects.create(kind="van", code="VAN1", name="Van 1")
    module = Item.objects.create(code="MOD", name="Module", tracking="serial", mass_g=32000)
    bracket = Item.objects.create(code="BRA", name="Bracket", tracking="count")
    sealant = Item.objects.create(code="SEA", name="Sealant", tracking="lot", unit="ul")
    for item, text, pack in (
        (module, MODULE_GTIN, 1),
        (bracket, "09521234000020", 4),
        (sealant, "09521234000037", 300000),
    ):
        ItemCode.objects.create(item=item, text=text, key=text, pack_quantity=pack)
    return Firm(
        **phones, dock=dock, bins=bins, van=van, module=module, bracket=bracket, sealant=sealant
    )

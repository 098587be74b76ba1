"""The firm that every simulated day begins with: built once, copied for each run.

Three crews, each with a phone, two bins, a van, a kit of its own and stock for it. What a crew may
scan is told as plain values, so that a day can be invented without looking into a database.
"""

from __future__ import annotations

import shutil
import uuid
from dataclasses import dataclass
from itertools import count
from pathlib import Path
from unittest import mock

from django.conf import settings
from django.db import connection

from inventory.ledger.ids import uuid7
from inventory.models import Device, Item, ItemCode, Person, Place
from kitting import packing
from kitting.models import Package
from tests import tables
from tests.firm import Phone
from tests.kitting import yard as yards

CREWS = ("ada", "ben", "cem")
UNITS = 8  # of each crew's own item with serials
SPARE = 500  # base units of each kit line on the crew's shelf beyond its need


@dataclass(frozen=True, slots=True)
class Crew:
    """What one crew can scan; every text as a scanner types it, every place by its code."""

    person: str
    device: str
    bins: tuple[str, str]
    van: str
    subject: str  # of its kit
    module: str  # GTIN of its item with serials
    bracket: str  # GTIN of its item by number
    sealant: str  # GTIN of its item by batch
    boxed: tuple[tuple[str, str, str], ...]  # (box, serial, label) of units for its kit
    parcel: str
    bags: tuple[str, ...]
    lines: tuple[tuple[str, int], ...]  # (item, quantity) of its kit, without serials

    def label(self, serial: str) -> str:
        """The label of a unit of the crew's own item."""
        return f"]C101{self.module}21{serial}"


def gtin(number: int) -> str:
    """A GTIN-14 of the example prefix 952 with its check digit (GS1 General Specifications)."""
    body = f"0952{number:09}"
    total = sum(int(digit) * (3, 1)[n % 2] for n, digit in enumerate(body))
    return f"{body}{-total % 10}"


def build() -> tuple[Crew, ...]:
    """Make the tables and enter the firm."""
    tables.make()
    settings.KIT_CHANCE = 0  # no spares: a kit is what its parts list says
    return enter()


def enter() -> tuple[Crew, ...]:
    """Enter the firm into the empty database."""
    yard = yards.build()
    # The stock's own events too are the same wherever the firm is built.
    yard.wanda.device.uid = uuid.UUID(int=(7 << 76) | (2 << 62) | 99)
    yard.wanda.device.save()
    numbers = count(1)
    with mock.patch("tests.firm.uuid7", side_effect=lambda: uuid7(0, next(numbers))):
        return tuple(_crew(yard, number, name) for number, name in enumerate(CREWS, 1))


def _crew(yard: yards.Yard, number: int, name: str) -> Crew:
    person = Person.objects.create_user(
        name, name=name.title(), roles=["warehouse", "technician", "manager"]
    )
    uid = uuid.UUID(int=(7 << 76) | (2 << 62) | number)
    phone = Phone(person, Device.objects.create(person=person, uid=uid))
    depot = yard.firm.dock.parent
    bins = [
        Place.objects.create(kind="bin", code=f"{name.upper()}{n}", name=f"Bin {n}", parent=depot)
        for n in (1, 2)
    ]
    van = Place.objects.create(kind="van", code=f"VAN-{name.upper()}", name=f"Van {name}")
    codes = []
    for offset, (tracking, pack) in enumerate((("serial", 1), ("count", 4), ("lot", 1000))):
        code = gtin(500 + 10 * number + offset)
        item = Item.objects.create(
            code=f"{tracking.upper()}{number}", name=f"{tracking} {number}", tracking=tracking
        )
        ItemCode.objects.create(item=item, text=code, key=code, pack_quantity=pack)
        codes.append(code)
    site = packing.open_site(f"House {number}", f"{number} Example Lane")
    job = packing.plan_job(
        by=yard.mona.person,
        site=site,
        date=yards.DAY,
        configuration=yards.CONFIGURATION,
        van=van,
        crew=[person],
    )
    kit = yard.kit(job)
    boxed = []
    for item_code, wanted in (("CT-MODULE", 4), ("CT-POWER", 2)):
        for n in range(wanted):
            serial = f"{item_code[3]}{number}{n}"
            if n < wanted // 2:  # the others come during the day, or are never received
                yard.box(serial, item_code)
            boxed.append((f"BOX-{serial}", serial, yard.label(serial, item_code)))
    needed: dict[str, int] = {}
    for line in kit.lines.select_related("item").exclude(item__tracking="serial"):
        needed[line.item.code] = needed.get(line.item.code, 0) + line.quantity
    for item_code, quantity in needed.items():
        yard.shelve(item_code, quantity + SPARE, bins[0])
    packages = Package.objects.filter(kit=kit).select_related("place").order_by("pk")
    return Crew(
        person=name,
        device=str(phone.device.uid),
        bins=(bins[0].code, bins[1].code),
        van=van.code,
        subject=kit.subject,
        module=codes[0],
        bracket=codes[1],
        sealant=codes[2],
        boxed=tuple(boxed),
        parcel=next(one.place.code for one in packages if one.kind == "parcel"),
        bags=tuple(one.place.code for one in packages if one.kind == "bag"),
        lines=tuple(sorted(needed.items())),
    )


class Copies:
    """Hands out fresh copies of the database as it stands now."""

    def __init__(self) -> None:
        self.base = str(connection.settings_dict["NAME"])
        self.work, self.kept = f"{self.base}_work", f"{self.base}_kept"
        connection.close()

    def fresh(self) -> None:
        """Let the connection name a database that is as the firm began."""
        self._copy(self.base, self.work)
        connection.settings_dict["NAME"] = self.work

    def keep(self) -> None:
        """Copy the database as it is now."""
        self._copy(self.work, self.kept)

    def put_back(self) -> None:
        """Let the database be as it was when it was kept."""
        self._copy(self.kept, self.work)

    def _copy(self, start: str, to: str) -> None:
        connection.close()
        if connection.vendor == "sqlite":
            for ending in ("", "-wal", "-shm"):
                Path(to + ending).unlink(missing_ok=True)
            shutil.copy(start, to)
        else:
            tables.copy(start, to)

"""The cast: one person of each sort, and two jobs that must not see each other.

Tariq's crew has the one job, Tove's the other. Both kits are released; of each, one module is
picked, loaded and seen at its site, where others fitted one before; a photo was taken and a thing
told missing, so that every page has something to show and, to the other crew, something to hide.
"""

from __future__ import annotations

import io
import json
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any
from uuid import UUID

import numpy as np
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import transaction
from django.test import Client
from django.urls import reverse
from PIL import Image

from inventory import deliveries, label_printing, notices, photos
from inventory.badges import badge_of
from inventory.bringing import running
from inventory.bringing.kinds import KINDS
from inventory.incoming.reading import Choices
from inventory.models import Device, Item, ItemCode, Partner, Person, Photo, Place, PrintJob
from kitting import families, packing, planning, serving, surveying
from kitting.models import Job, Kit, Site
from tests import kept
from tests.firm import MODULE_GTIN, NOW, Phone, element_string

PASSWORD = "bracket-lantern-orchard"
FAMILIES = Path(__file__).resolve().parent.parent / "fixtures" / "families"
DAY = date(2026, 11, 26)
PRICE = 424_299  # cents for a module
CHARGE = {"up_to_c": 25, "days": 300, "source": "manual"}
ROLES = {
    "warehouse": ("wanda", ["warehouse"]),
    "technician": ("tariq", ["technician"]),
    "other_technician": ("tove", ["technician"]),
    "manager": ("mona", ["manager"]),
    "leaver": ("lars", ["manager", "technician", "warehouse"]),
}
MEMBERS = (*ROLES, "stranger")
Sent = dict[str, Any]
"""What a test client is given besides an address."""


@dataclass(frozen=True, slots=True)
class Work:
    """One crew's job and all that only this crew and the desk may know of it."""

    job: Job
    kit: Kit
    photo: Photo
    serial: str  # of the module at its site
    secrets: tuple[str, ...]  # texts that no other crew's page may hold

    @property
    def kit_uid(self) -> UUID:
        return self.kit.uid


@dataclass(frozen=True, slots=True)
class Cast:
    """Everybody, their browsers (signed in), and what there is to ask for."""

    people: dict[str, Person]  # member -> person; the stranger is nobody
    clients: dict[str, Client]
    works: dict[str, Work]  # "technician", "other_technician" -> the job of their crew
    item: Item
    dock: Place
    van: Place

    @property
    def badge(self) -> str:
        """A badge of one who works here."""
        return badge_of(self.people["manager"])


def enter_people() -> dict[str, Person]:
    """Enter everybody who works or worked here, with PASSWORD; the leaver can still sign in."""
    return {
        member: Person.objects.create_user(name, PASSWORD, name=name.title(), roles=roles)
        for member, (name, roles) in ROLES.items()
    }


@kept.once
def build() -> Cast:
    """Enter a firm with its cast into the empty database."""
    people = enter_people()
    depot = Place.objects.create(kind="depot", code="DEPOT", name="Depot")
    dock = Place.objects.create(kind="dock", code="DOCK", name="Dock", parent=depot)
    Place.objects.create(kind="bin", code="BIN1", name="Bin 1", parent=depot, order=1)
    van = Place.objects.create(kind="van", code="VAN1", name="Van 1")
    families.load((FAMILIES / "tower.toml").read_text(encoding="utf-8"), "tower.toml")
    module = Item.objects.get(code="CT-MODULE")
    Item.objects.filter(pk=module.pk).update(cost=PRICE)
    ItemCode.objects.create(item=module, text=MODULE_GTIN, key=MODULE_GTIN)
    works = {
        "technician": _work(people, "technician", van, dock, "Plum Cottage", "3 Plum Lane"),
        "other_technician": _work(
            people, "other_technician", van, dock, "Quince House", "8 Quince Way"
        ),
    }
    _deliver(people, dock)
    _bring(people["manager"])
    _recall(people)
    _print(people)
    clients = {member: Client(raise_request_exception=True) for member in MEMBERS}
    for member, person in people.items():
        clients[member].force_login(person)
    # The browser of somebody who left still holds the session it had.
    leaver = people["leaver"]
    leaver.is_active = False
    leaver.save()
    return Cast(people, clients, works, module, dock, van)


def _print(people: dict[str, Person]) -> None:
    """A printer that nobody answers for, and a print of which nobody knows what became."""
    printer = label_printing.enter_printer(
        name="Bench 1", address="ipp://127.0.0.1:9/printers/bench", layout="roll-50x25", dpi=203
    )
    label_printing.keep(people["warehouse"], printer, ["BIN1"])


@contextmanager
def scene() -> Iterator[Cast]:
    """A cast that is gone afterwards; for fixtures wider than one test."""
    with transaction.atomic():
        yield build()
        transaction.set_rollback(True)


def _work(
    people: dict[str, Person], member: str, van: Place, dock: Place, name: str, street: str
) -> Work:
    address = f"{street}, Testham"
    job = planning.plan_whole(
        by=people["manager"],
        site=None,
        site_name=name,
        address=address,
        date=DAY,
        configuration=configuration("T01"),
        van=van,
        crew=[people[member]],
        leaves_at=None,
    )
    number = f"01632 96{job.pk:04}"  # a range that is nobody's (Ofcom, numbers for drama)
    Site.objects.filter(pk=job.site_id).update(phone=number)
    kit = job.kit
    assert kit is not None
    packing.release(kit, people["manager"], NOW)
    photo = take_photo(people[member], kit.subject, len(job.code) + kit.pk)
    # No digits: behind a serial they could be the next element, its separator lost.
    serial = f"{name.split(maxsplit=1)[0].upper()}-SERIAL"
    _walk(people, member, kit, dock, serial)
    places = Place.objects.filter(subject=kit.subject) | Place.objects.filter(site=job.site)
    codes = places.values_list("code", flat=True)
    secrets = (job.code, str(job.uid), str(kit.uid), name, street, serial, photo.sha256, number)
    return Work(job, kit, photo, serial, (*secrets, *codes))


def _deliver(people: dict[str, Person], dock: Place) -> None:
    """One delivery D1 at the dock, a box of it missing: a claim is open. A module came back."""
    supplier = deliveries.enter_partner(code="north", name="North Store", kind="supplier")
    deliveries.set_clock(supplier, about="shortage", how="writing", hours=720, source="terms")
    made = deliveries.enter(
        people["warehouse"], note="LS-1", supplier=supplier, carrier=None, dock=dock, boxes=3
    )
    bench = Phone(people["warehouse"], Device.objects.create(person=people["warehouse"]))
    result = bench.scan("count_boxes", quantity=2, subject=made.subject)
    assert result.verdict == "problem", result.sentence
    came = bench.scan("receive", element_string("CAME-BACK"), target=dock.code)
    assert came.verdict == "applied", came.sentence
    back = bench.scan("come_back", "CAME-BACK", kind="damaged")
    assert back.verdict == "applied", back.sentence


def _recall(people: dict[str, Person]) -> None:
    """A recall R1, frozen, that names the module at the technician's site."""
    manager = people["manager"]
    letter = {"letter": "L-1", "words": "cells may overheat", "partner": None, "note": "by post"}
    made = notices.enter(manager, rule="prefix PLUM", **letter)
    desk = Phone(manager, Device.objects.create(person=manager))
    result = desk.scan("notice_freeze", subject=made.subject, kind="1", via="tap")
    assert result.verdict == "applied", result.sentence


def _walk(people: dict[str, Person], member: str, kit: Kit, dock: Place, serial: str) -> None:
    """Bring one module from the supplier to the site, and tell something missing."""
    bench, phone = (
        Phone(person, Device.objects.create(person=person))
        for person in (people["warehouse"], people[member])
    )
    text, site = element_string(serial), f"site:{kit.job.site.place.code}"
    surveying.describe(kit.job.site, configuration("T01"), people["manager"])
    steps = (
        (bench, "receive", {"text": text, "target": dock.code}),
        (bench, "pick", {"text": text, "subject": kit.subject}),
        (bench, "load", {"text": text, "subject": kit.subject}),
        (phone, "unbox", {"text": text, "subject": kit.subject}),
        (phone, "find_standing", {"subject": site, "position": {"stack": 1, "level": 1}}),
        (phone, "missing", {"text": "CT-BOLT6", "quantity": 2, "subject": kit.subject}),
    )
    for scanner, step, fields in steps:
        result = scanner.scan(step, **fields)
        assert result.verdict in ("applied", "problem"), f"{step}: {result.sentence}"


SHIM = {"name": "Shim", "tracking": "count", "unit": "piece", "mass_g": 5}
NORA = {"name": "Nora", "roles": ["warehouse"], "password": "seven-tall-larches"}


def file() -> SimpleUploadedFile:
    """A file that a manager may look at."""
    return SimpleUploadedFile("partners.csv", b"code;name\neast;East Store\n", "text/csv")


def _bring(manager: Person) -> None:
    """One file F1 came in."""
    data = b"code;name\nwest;West Store\n"
    kept = running.keep(KINDS["suppliers"], "partners.csv", Choices(), data, manager)
    plan = running.look_again(kept, manager).plan
    running.go_on(running.confirm(kept, plan, manager, change=False), manager)


def note(cast: Cast) -> dict[str, object]:
    """What a delivery's form is filled in with."""
    supplier = Partner.objects.get(code="north")
    return {"supplier": supplier.pk, "note": "LS-2", "boxes": 4, "dock": cast.dock.pk}


def order(cast: Cast) -> dict[str, object]:
    """What an order's form is filled in with."""
    supplier = Partner.objects.get(code="north")
    bought = {"supplier": supplier.pk, "item": cast.item.code, "quantity": 4}
    return {**bought, "promised_on": "2026-12-01"}


def configuration(name: str) -> dict[str, object]:
    """One of the hand-worked configurations of the tower."""
    found: dict[str, object] = json.loads(_by_hand())[name]
    return found


@cache
def _by_hand() -> str:
    return (FAMILIES / "tower.hand.json").read_text(encoding="utf-8")


@cache
def picture(seed: int = 1, size: tuple[int, int] = (96, 64), form: str = "JPEG") -> bytes:
    """A photo of nothing in particular."""
    noise = np.random.default_rng(seed).integers(0, 255, (size[1], size[0], 3), dtype="uint8")
    out = io.BytesIO()
    Image.fromarray(noise).save(out, form)
    return out.getvalue()


def upload(**more: str) -> dict[str, Any]:
    """What a form sends with a photo in it."""
    photo = SimpleUploadedFile("photo.jpg", picture(1000), "image/jpeg")
    return {"data": {"photo": photo} | more}


def take_photo(person: Person, subject: str, seed: int) -> Photo:
    """Store a photo of a kit as the phone would."""
    upload = SimpleUploadedFile("photo.jpg", picture(seed), "image/jpeg")
    return photos.store(person, upload, 10_000_000, subject)


def substitute() -> dict[str, str]:
    """What a manager fills in to let longer anchors stand for shorter ones."""
    item, instead = (Item.objects.get(code=code) for code in ("CT-ANCH75", "CT-ANCH105"))
    chosen = {"item": item.code, "instead": instead.code, "takes": "1", "each": "1"}
    return chosen | {"since": "2026-11-01", "reason": "the wall is thick enough"}


def turn() -> dict[str, str]:
    """What a manager's press sends who lets the most kits be whole."""
    way = serving.side_by_side().ways[0]
    return {"way": way.way, "seen": way.seen}


def out() -> dict[str, Any]:
    """What is said of the print there is."""
    job = PrintJob.objects.order_by("pk").first()
    return {"job": job.pk if job else 0, "act": "out"}


def printer(number: int) -> dict[str, str]:
    """A printer that is entered."""
    address = {"name": f"Bench {number + 2}", "address": "ipp://127.0.0.1:9/printers/two"}
    return address | {"layout": "roll-50x25", "dpi": "203"}


def page_of(route: str, username: str) -> str:
    """The address of a page about somebody of the firm."""
    return reverse(route, args=[Person.objects.get(username=username).uid])


def bolt() -> str:
    """The code of the item that is asked for by hand."""
    return "CT-BOLT6"


def decided() -> dict[str, Sent | Callable[[], Sent]]:
    """What a manager decides about where things come from, and brings in."""
    return {
        "kit_sources": {"data": {"pin": "yes", "serial": "PLUM-SERIAL", "reason": "asked for"}},
        "whole_stacks": {"data": {"way": "most", "reason": "a short week"}},
        "substitutes": lambda: {"data": substitute()},
        "bring_in": {"data": {"kind": "suppliers", "file": file()}},
        "brought_file": {"data": {"go_on": "yes"}},
    }

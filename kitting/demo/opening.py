"""The first day: catalogue, people, places and opening stock of the demo firm.

Catalogue, people and places are entered by the writers that the pages use; stock and what was
built before are events of a person, so that the ledger is whole from its first entry.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from django.utils import timezone

from inventory import catalogue, intake, photos, placing
from inventory.codes import own
from inventory.intake import Result
from inventory.models import Device, Item, Person, Place
from kitting import families, packing, ticking
from kitting.demo import damage
from kitting.demo.firm import DELIVERY, FOLDER, Built, Firm, Serial, Stock
from kitting.demo.hand import Clock, Hand
from kitting.models import Kit

FAMILIES = FOLDER.parent / "families"
AS_EXPECTED = frozenset({"applied", "noted"})


class OpeningFault(RuntimeError):
    """An event of the first day did not do what it should; the message names it."""


@dataclass(slots=True)
class Opening:
    """The firm as it stands in the database; places by the names of the fixtures."""

    firm: Firm
    clock: Clock
    people: dict[str, Person]
    places: dict[str, Place]
    codes: dict[str, str]  # item -> article number, 14 digits
    boxes: int = 0  # labels for boxes given out so far

    def next_box(self) -> str:
        """Return the text of the next label from the roll of box labels."""
        self.boxes += 1
        return own.make("carton", self.boxes)

    def hand(self, username: str) -> Hand:
        """Give somebody a device that is registered without a browser."""
        uid = self.clock.new_id()
        Device.objects.create(uid=uid, person=self.people[username], label="first day")
        return Hand(self.clock, uid)

    def take(self, username: str, *lines: str) -> list[Result]:
        """Hand lines to the intake as this person. Raises OpeningFault."""
        results = intake.take(self.people[username], lines, timezone.now())
        for result, line in zip(results, lines, strict=True):
            if result.verdict not in AS_EXPECTED:
                raise OpeningFault(
                    f"{line}: expected applied, got {result.verdict}: {result.sentence}"
                )
        return results


def load(firm: Firm, clock: Clock, *, stock: bool = True) -> Opening:
    """Enter the firm into an empty database. stock: also what lies in the bins and what stands."""
    people = {
        m.username: catalogue.enter_person(m.username, m.password, name=m.name, roles=m.roles)
        for m in firm.members
    }
    for name in sorted({job.family for job in firm.jobs}):
        file = FAMILIES / f"{name}.toml"
        families.load(file.read_text(encoding="utf-8"), file.name)
    codes = _enter_codes(firm)
    opening = Opening(firm, clock, people, _enter_places(firm), codes)
    if stock:
        clock.set(12, 13)
        _stock(opening)
        for built in firm.built:
            _build(opening, built)
    return opening


def _enter_codes(firm: Firm) -> dict[str, str]:
    items = Item.objects.in_bulk([c.item for c in firm.codes], field_name="code")
    for printed in firm.codes:
        item = items[printed.item]
        if not item.codes.exists():
            catalogue.add_code(item, printed.gtin, printed.pack)
    return {printed.item: printed.gtin for printed in firm.codes}


def _enter_places(firm: Firm) -> dict[str, Place]:
    depot = placing.make("depot", firm.depot, time_zone="UTC")
    places = {firm.depot: depot, firm.dock: placing.make("dock", firm.dock, parent=depot)}
    for order, name in enumerate(firm.bins, 1):
        places[name] = placing.make("bin", f"Bin {name}", parent=depot, order=order)
    for name in firm.vans:
        places[name] = placing.make("van", name)
    return places


def serial_code(opening: Opening, item: str, serial: str) -> str:
    """Return what the label on a thing with a serial carries: article number and serial (GS1)."""
    return f"01{opening.codes[item]}21{serial}"


def _stock(opening: Opening) -> None:
    hand = opening.hand("wanda")
    lines = [line for stock in opening.firm.stock for line in _lines(opening, hand, stock)]
    units = [unit for unit in opening.firm.units if unit.place != DELIVERY]
    lines += [_unit_line(opening, hand, unit) for unit in units]
    opening.take("wanda", *lines)


def _lines(opening: Opening, hand: Hand, stock: Stock) -> list[str]:
    """Batches and what is not kept by number are received; what is kept by number is counted."""
    tracking = Item.objects.get(code=stock.item).tracking
    text = f"01{opening.codes[stock.item]}"
    if stock.batch:
        expires = stock.expires.replace("-", "")[2:]
        text += f"17{expires}10{stock.batch}" if expires else f"10{stock.batch}"
    place: dict[str, Any] = {"target": opening.places[stock.place].code}
    many: dict[str, Any] = {"quantity": stock.quantity} if stock.quantity else {"kind": "none"}
    counted = tracking not in ("supply", "tool") and stock.place not in opening.firm.vans
    steps = ["receive"] if not counted or (stock.batch and stock.quantity) else []
    steps += ["count"] if counted else []
    return [hand.line(step, text, "keys", **many, **place) for step in steps]


def _unit_line(opening: Opening, hand: Hand, unit: Serial) -> str:
    """In a bin a thing stands in its box, on a van by itself."""
    text, target = serial_code(opening, unit.item, unit.serial), opening.places[unit.place].code
    if unit.place in opening.firm.vans:
        return hand.line("receive", text, "keys", kind="seen", target=target)
    return hand.line("receive", opening.next_box(), "keys", companion=text, target=target)


def _build(opening: Opening, built: Built) -> None:
    """Enter an old job from its sheet: only what has a serial was written down then."""
    wanda, crew = opening.people["wanda"], [opening.people[name] for name in built.crew]
    site = packing.open_site(built.name, built.address)
    day = datetime(built.date.year, built.date.month, built.date.day, 6, tzinfo=UTC)
    opening.clock.now = day
    job = packing.plan_job(
        by=opening.people["mona"],
        site=site,
        date=built.date,
        configuration=built.configuration,
        van=opening.places[built.van],
        crew=crew,
        leaves_at=day,
    )
    kit = packing.work_out_kit(job, opening.people["mona"])
    packing.release(kit, opening.people["mona"], day)
    bench, phone = opening.hand(wanda.username), opening.hand(built.crew[0])
    texts = [serial_code(opening, item, serial) for item, serial, _ in built.units]
    dock = opening.places[opening.firm.dock].code
    lines = [bench.line("receive", t, "keys", kind="seen", target=dock) for t in texts]
    bench.subject = phone.subject = kit.subject
    lines += [bench.line(step, text, "keys") for step in ("pick", "load") for text in texts]
    opening.take(wanda.username, *lines)
    lines = [phone.line("unbox", text, "symbol") for text in texts]
    for level, (text, (_, _, number)) in enumerate(zip(texts, built.units, strict=True), 1):
        position = {"stack": 1, "level": level}
        lines.append(phone.line("fit", text, "symbol", position=position, number=number))
        lines.append(phone.line("commission", text, "symbol", number=number))
    opening.take(built.crew[0], *lines)
    photo = photos.keep(opening.people[built.crew[0]], damage.covered(kit.code), kit.subject)
    lines = [phone.line("tick", **ticks) for ticks in ticked(kit, photo.sha256)]
    opening.take(built.crew[0], *lines, phone.line("close_kit"))


def ticked(kit: Kit, photo: str) -> list[dict[str, Any]]:
    """Fields of the ticks that a kit asks for, with the photo of its covers."""
    asked = [one.asked for one in ticking.unanswered(kit)]
    return [
        {"kind": one.key, "number": one.stack} | ({"photo": photo} if one.photo else {})
        for one in asked
    ]

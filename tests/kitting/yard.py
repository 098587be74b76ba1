"""A job of the invented tower: its firm, its stock on the shelves, and the kit in the making."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from inventory.models import Device, Item, ItemCode, Person, Place, Unit
from kitting import families, packing, ticking
from kitting.models import Job, Kit, Site
from tests import firm, kept
from tests.firm import Firm, Phone

TOWER = Path(__file__).parents[2] / "fixtures" / "families" / "tower.toml"
DAY = date(2026, 11, 26)
GTINS = {"CT-MODULE": firm.MODULE_GTIN, "CT-POWER": "09521234000068"}
CONFIGURATION: dict[str, Any] = {
    "family": "tower",
    "job": "new",
    "stacks": [{"modules": 2}],
    "mount": "floor",
    "wall": "solid",
    "covering": 10,
    "place": "indoor",
    "restraint": "none",
    "head_rev": "A",
    "entry_side": "left",
    "ac_way": "clipped",
    "ac_run": 4200,
    "ac_od": 120,
    "data_run": 3000,
    "data_od": 60,
    "earth_run": 2000,
}


@dataclass
class Yard:
    """A firm with a loaded family and a job or two."""

    firm: Firm
    tove: Phone  # technician of another crew
    site: Site

    @property
    def wanda(self) -> Phone:
        return self.firm.wanda

    @property
    def tariq(self) -> Phone:
        return self.firm.tariq

    @property
    def mona(self) -> Phone:
        return self.firm.mona

    def job(self, crew: Phone | None = None, site: Site | None = None, **changes: Any) -> Job:
        """Plan a job; `changes` go into the configuration."""
        return packing.plan_job(
            by=self.mona.person,
            site=site or self.site,
            date=DAY,
            configuration={**CONFIGURATION, **changes},
            van=self.firm.van,
            crew=[(crew or self.tariq).person],
        )

    def kit(self, job: Job | None = None) -> Kit:
        """Work out and release a kit."""
        kit = packing.work_out_kit(job or self.job(), self.mona.person)
        packing.release(kit, self.mona.person)
        return fresh(kit)

    def box(self, serial: str, item: str = "CT-MODULE", at: Place | None = None) -> Unit:
        """Receive a unit in a box of its own, BOX-<serial>, and return it."""
        where = (at or self.firm.dock).code
        said = {"with": self.label(serial, item)}
        done = self.wanda.scan("receive", f"BOX-{serial}", target=where, **said)
        assert done.verdict == "applied", done.sentence
        return Unit.objects.select_related("item", "place").get(serial=serial)

    def label(self, serial: str, item: str = "CT-MODULE") -> str:
        """What the label of a unit says, as a scanner types it."""
        return f"]C101{GTINS[item]}21{serial}"

    def shelve(self, code: str, quantity: int, at: Place | None = None) -> None:
        """Receive a quantity of an item onto a shelf."""
        place = at or self.firm.bins[0]
        done = self.wanda.scan("receive", code, target=place.code, quantity=quantity)
        assert done.verdict == "applied", done.sentence

    def ticks(self, kit: Kit) -> None:
        """Tick all that the kit still asks for, with the photos it wants."""
        for one in ticking.unanswered(kit):
            found = {"photo": "5" * 64} if one.asked.photo else {}
            fields = {"kind": one.asked.key, "number": one.asked.stack, **found}
            done = self.tariq.scan("tick", subject=kit.subject, **fields)
            assert done.verdict == "applied", done.sentence


@kept.once
def build() -> Yard:
    """Enter the firm, the tower and a site into the empty database."""
    made = firm.build()
    families.load(TOWER.read_text(encoding="utf-8"), "tower.toml")
    for code, gtin in GTINS.items():
        item = Item.objects.get(code=code)
        ItemCode.objects.update_or_create(key=gtin, defaults={"item": item, "text": gtin})
    tove = Person.objects.create_user("tove", name="Tove", roles=["technician"])
    phone = Phone(tove, Device.objects.create(person=tove, uid=firm.device_of("tove")))
    return Yard(made, phone, packing.open_site("An invented house", "1 Example Lane"))


@kept.once
def first_kit(yard: Yard) -> Kit:
    """Work out and release a kit where there is none yet."""
    return yard.kit()


def fresh(kit: Kit) -> Kit:
    """The kit as the database has it now."""
    return Kit.objects.select_related("job__site__place", "job__van").get(pk=kit.pk)


def about(kit: Kit, **more: Any) -> dict[str, Any]:
    """Fields of an event about this kit."""
    return {"subject": kit.subject, **more}

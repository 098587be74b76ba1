"""Each cell of the table of steps, through the intake: what is decided, and whether it moves."""

from __future__ import annotations

import pytest
from django.db import transaction

from inventory import audit, intake
from inventory.codes.serials import key
from inventory.intake import Act, Verdict
from inventory.models import Item, ItemCode, Movement, Place, Unit
from inventory.moving import Writing, nameless, outside
from kitting import as_built, packing, surveying
from kitting.models import Kit, Package
from tests.kitting.yard import CONFIGURATION, Yard, about
from tests.ledger.test_steps import CELLS

GTIN = "09521234000051"
LABEL = f"]C101{GTIN}21S1"
WORDS = {
    "apply": {"applied"},
    "finding": {"problem"},
    "late": {"noted"},
    "dispute": {"dispute"},
    "waiting": {"waiting"},
}
# Where an act says more than the table, with the reason.
OTHERWISE = {
    # the scan shows that loading was not seen: applied, and marked
    ("unbox", "parcel"): {"problem"},
    # a gate before the act: what is fitted has to be taken down first
    ("bring_back", "stack"): {"stopped"},
}
# put and receive know no kit: every parcel, site and stack is another's to them.
NO_KIT = {"receive", "put"}
AT_THE_SITE = {"unbox", "fit", "commission", "take_down", "find_standing"}


@pytest.fixture
def hand(yard: Yard, monkeypatch: pytest.MonkeyPatch) -> Yard:
    """A yard in which a thing can be carried anywhere without a question."""

    def carry(writes: Writing) -> Verdict:
        assert writes.thing.unit is not None
        writes.unit(writes.thing.unit, Place.objects.get(code=writes.line.target))
        return Verdict("applied", "Carried.")

    monkeypatch.setitem(intake.ACTS, "carry", Act("carry", frozenset({"warehouse"}), carry))
    module = Item.objects.get(code="CT-MODULE")
    ItemCode.objects.create(item=module, text=GTIN, key=GTIN)
    return yard


def stand(yard: Yard, kit: Kit, where: str) -> None:
    """Enter unit S1 and let it stand there."""
    if where == "nowhere":
        return
    module = Item.objects.get(code="CT-MODULE")
    Unit.objects.create(item=module, lot=nameless(module), serial="S1", serial_key=key("S1"))
    if where == "stack":
        yard.wanda.scan("receive", LABEL, target="DOCK")
        done = yard.tariq.scan("fit", LABEL, position={"stack": 1, "level": 1}, **about(kit))
        assert done.verdict == "problem", done.sentence  # the steps before were not seen
        return
    place = standing_place(yard, kit, where)
    done = yard.wanda.scan("carry", LABEL, target=place.code)
    assert done.verdict == "applied", done.sentence


def standing_place(yard: Yard, kit: Kit, where: str) -> Place:
    """A place of that standing, seen from the kit."""
    if where.startswith("other"):
        other = Kit.objects.exclude(pk=kit.pk).get()
        site = other.job.site.place
        return {
            "other parcel": Package.objects.get(kit=other, kind="bay").place,
            "other site": site,
            "other stack": as_built.stack_place(site, 1),
        }[where]
    return {
        "parcel": Package.objects.get(kit=kit, kind="bay").place,
        "outside": outside("supplier"),
        "shelf": yard.firm.bins[0],
        "van": yard.firm.van,
        "site": kit.job.site.place,
        "gone": outside("scrap"),
    }[where]


def target(kit: Kit, step: str, where: str) -> dict[str, object]:
    """What else the step's event says; always another place than the one it stands at."""
    if step in ("fit", "commission", "find_standing"):
        return {"position": {"stack": 1, "level": 1}}
    if step == "pick" and where == "parcel":
        bag = Package.objects.filter(kit=kit, kind="parcel").order_by("pk").first()
        assert bag is not None
        return {"target": bag.place.code}
    if step in ("receive", "put", "bring_back"):
        return {"target": "BIN2" if step == "put" else "DOCK"}
    return {}


def happens(yard: Yard, kit: Kit, step: str, where: str) -> tuple[str, bool]:
    """Verdict and whether anything moved; the audit holds after it."""
    stand(yard, kit, where)
    more = target(kit, step, where)
    if step == "find_standing":
        more |= {"subject": f"site:{kit.job.site.place.code}"}
    elif step not in NO_KIT:
        more |= about(kit)
    before = Movement.objects.count()
    phone = yard.tariq if step in AT_THE_SITE else yard.wanda
    done = phone.scan(step, LABEL, **more)

    assert [check for check in audit.run() if check.problems] == []
    return done.verdict, Movement.objects.count() > before


@pytest.mark.parametrize("step", sorted({cell[0] for cell in CELLS}))
def test_each_cell_is_what_happens(hand: Yard, kit: Kit, step: str) -> None:
    """The verdict is the table's, and it moves exactly where the table lets it."""
    site = packing.open_site("Another invented house", "2 Example Lane")
    hand.kit(hand.job(crew=hand.tove, site=site))
    surveying.describe(kit.job.site, CONFIGURATION, hand.mona.person)
    for cell, where, wanted, reason in CELLS:
        if cell != step:
            continue
        with transaction.atomic():
            verdict, moved = happens(hand, kit, step, where)
            transaction.set_rollback(True)
        # A unit that is started where it stands is noted there: it stays.
        moves = verdict in ("applied", "problem") and (step, where) != ("commission", "stack")

        assert verdict in OTHERWISE.get((step, where), WORDS[wanted]), (step, where, reason)
        assert moved == moves, (step, where, reason)

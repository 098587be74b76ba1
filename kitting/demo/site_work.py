"""At the house: unboxed by scanning again, problems told, units fitted, the rest returned."""

from __future__ import annotations

from inventory.digest import digest
from inventory.labelling import of_place
from inventory.models import Unit
from kitting.demo import damage
from kitting.demo.bench_work import bags, loose, own_label, parcels
from kitting.demo.opening import ticked
from kitting.demo.stage import Stage
from kitting.demo.visitor import Unexpected
from kitting.demo.worker import Worker, label_of_place, label_of_unit
from kitting.models import Package
from kitting.progress import fold
from kitting.queries import left_of
from kitting.snapshot import positions

CRACKED = "the lower corner of the case is cracked"
ASSESSED = "no heat, smell or leak in two hours; by the maker's sheet for damaged modules"
FIRMWARE = "3.2"
SPARE = "CM26-00188"  # always on the van
CONDUIT, NOT_NEEDED = "CT-CON25", 300  # mm that are left of it
MINUTES_A_UNIT = 22
MISSING_STEP = "gland"  # the bag of this step is not where it should be


def unbox(stage: Stage) -> None:
    """Scan everything again without a signal; the phone sends it in one batch, and once more."""
    tariq, kit = stage.workers["tariq"], stage.kit("tower")
    tariq.browser.open(f"/my/{kit.job.code}/unbox")
    lines = [tariq.read("unbox", label_of_place(place)) for place in parcels(kit)]
    seen = [package for package in bags(kit) if package.step != MISSING_STEP]
    lines += [tariq.read("unbox", label_of_place(package.place)) for package in seen]
    lines += [tariq.read("unbox", own_label(thing)) for thing in loose(kit)]
    tariq.send_all(lines)
    stage.say(
        tariq.name,
        f"unboxes {kit.code} without a signal: {len(lines)} scans, sent in one batch later",
    )
    before = digest()
    again = tariq.send_all(lines)
    known = sum(bool(result["duplicate"]) for result in again)
    if known != len(lines) or digest() != before:
        raise Unexpected(f"replay: expected {len(lines)} known and nothing changed, got {known}")
    stage.say("phone", f"lost the answer and sends all {known} again: known, nothing changes")


def tell_problems(stage: Stage) -> None:
    """A bag of another job, a bag that is missing, a module with a crack."""
    tariq = stage.workers["tariq"]
    # Tuesday's bags are labelled already and wait on the bench, still empty.
    foreign = stage.kit("row").packages.filter(kind=Package.Kind.BAG)[0].place
    answer = tariq.scan("unbox", label_of_place(foreign), ("dispute",))
    stage.say(tariq.name, "scans a bag that lay among his")
    stage.aside(answer["sentence"])
    answer = tariq.tap("missing", missing_bag(stage).place.code, ("problem",))
    stage.say(
        tariq.name, "misses a bag; what is not there cannot be scanned, so it is chosen from a list"
    )
    stage.aside(answer["sentence"])
    _crack(stage, tariq)


def missing_bag(stage: Stage) -> Package:
    """Return the bag that is not where it should be."""
    packages = stage.kit("tower").packages.filter(kind=Package.Kind.BAG)
    return packages.select_related("place__parent").get(step=MISSING_STEP)


def cracked_unit(stage: Stage) -> Unit:
    """Return the module that has the crack: the last of those that came for the job."""
    kit = stage.kit("tower")
    units = Unit.objects.filter(movements__event__subject=kit.subject, item__code="CT-MODULE")
    return units.exclude(serial=SPARE).distinct().order_by("serial")[2]


def _crack(stage: Stage, tariq: Worker) -> None:
    kit, unit = stage.kit("tower"), cracked_unit(stage)
    photo = tariq.browser.send_file(
        "/api/photos", damage.picture(stage.eyes.rng), subject=kit.subject
    )
    note = tariq.browser.call_json(
        "/api/notes",
        {
            "id": str(stage.clock.new_id()),
            "text": "Box was whole. Crack seen before lifting it out.",
            "subject": kit.subject,
        },
    )
    answer = tariq.scan(
        "damaged",
        label_of_unit(unit),
        ("problem",),
        photo=photo["sha256"],
        note=note["id"],
        reason=CRACKED,
    )
    stage.say(tariq.name, f"finds {unit.serial} cracked, takes a photo and sets it aside")
    stage.aside(answer["sentence"])
    answer = tariq.scan("unbox", label_of_unit(Unit.objects.get(serial=SPARE)))
    stage.say(tariq.name, f"takes {SPARE} from the van instead")
    stage.aside(answer["sentence"])


def fit(stage: Stage) -> None:
    """Stand each unit at its place, with the number that its screen shows."""
    tariq, kit = stage.workers["tariq"], stage.kit("tower")
    tariq.browser.open(f"/my/{kit.job.code}/fit")
    site = kit.job.site.place
    loose_units = Unit.objects.filter(place=site).exclude(pk=cracked_unit(stage).pk)
    units = {code: list(loose_units.filter(item__code=code)) for code in ("CT-MODULE", "CT-POWER")}
    _scan_a_box(stage, tariq, units["CT-MODULE"][0])
    number = fitted = 0
    for place in positions(kit):
        if not units.get(place.item):
            continue
        unit = units[place.item].pop(0)
        number = 100 if place.role == "head" else number + 1
        fitted += 1
        where = {"stack": place.stack, "level": place.level}
        stage.clock.tick(MINUTES_A_UNIT * 60)
        tariq.scan("fit", label_of_unit(unit), position=where, number=number)
        tariq.scan("commission", label_of_unit(unit), number=number, firmware=FIRMWARE)
    stage.say(
        tariq.name, f"fits {number and 4} units to their places and notes each number on screen"
    )


def _scan_a_box(stage: Stage, tariq: Worker, unit: Unit) -> None:
    """The empty box stands nearer than the module."""
    box = unit.movements.filter(from_place__kind="carton").select_related("from_place").last()
    if box is None:
        raise Unexpected(f"{unit}: expected one that came in a box, got one that did not")
    where = {"stack": 1, "level": 1}
    answer = tariq.scan("fit", of_place(box.from_place), ("stopped",), position=where)
    stage.say(tariq.name, "scans the box of a module instead of the module")
    stage.aside(answer["sentence"])


def finish(stage: Stage) -> None:
    """The bag is found, small parts are used up, the rest goes back, the kit is closed."""
    tariq, kit = stage.workers["tariq"], stage.kit("tower")
    answer = tariq.scan("unbox", label_of_place(missing_bag(stage).place))
    stage.say(tariq.name, "finds the bag behind the seat")
    stage.aside(answer["sentence"])
    for code, total in fold(kit).totals.items():
        if total.in_boxes > total.out_of_boxes:  # in the box of another thing, without a label
            tariq.tap("unbox", code)
    conduit = kit.lines.get(item__code=CONDUIT, spare=False)
    tariq.tap("use", CONDUIT, quantity=conduit.quantity - NOT_NEEDED)
    for package in bags(kit):
        tariq.tap("use", package.place.code)
    for code in sorted({thing.item.code for thing in left_of(kit)} - {CONDUIT}):
        total = fold(kit).totals[code]
        small = total.item.tracking in ("count", "lot", "length", "supply")
        if small and total.planned > total.used:
            tariq.tap("use", code)
    stage.say(tariq.name, "uses up each bag as planned, the cables too; 300 mm of conduit are left")
    answer = tariq.tap("close_kit", expected=("stopped",))
    stage.say(tariq.name, "wants to close the kit")
    stage.aside(answer["sentence"])


def bring_back(stage: Stage) -> None:
    """In the evening at the dock: what is left of the kit, and what is broken."""
    tariq, wanda, kit = stage.workers["tariq"], stage.workers["wanda"], stage.kit("tower")
    dock = stage.place(stage.opening.firm.dock).code
    broken = label_of_unit(cracked_unit(stage))
    answer = tariq.scan("bring_back", broken, ("stopped",), target=dock)
    stage.say(tariq.name, "wants to bring the cracked module back")
    stage.aside(answer["sentence"])
    mona = stage.workers["mona"]
    mona.scan("packing_class", broken, kind="p908", reason=ASSESSED)
    stage.say(mona.name, "decides with the maker's sheet and her adviser how it is packed")
    tariq.scan("bring_back", broken, target=dock)
    answer = tariq.tap("bring_back", target=dock)
    stage.say(tariq.name, "brings back the cracked module, the rest of the conduit and the tools")
    stage.aside(answer["sentence"])
    answer = tariq.tap("close_kit", expected=("stopped",))
    stage.say(tariq.name, "wants to close the kit")
    stage.aside(answer["sentence"])
    photo = tariq.browser.send_file("/api/photos", damage.covered(kit.code), subject=kit.subject)
    for ticks in ticked(kit, photo["sha256"]):
        tariq.tap("tick", **ticks)
    stage.say(tariq.name, "ticks what was looked over at the stack, the covers with a photo")
    answer = tariq.tap("close_kit")
    stage.tally.closed += 1
    stage.say(tariq.name, "closes the kit")
    stage.aside(answer["sentence"])
    target, _ = wanda.look(label_of_place(stage.place("R1")))
    wanda.scan("put", broken, target=target)
    stage.say(wanda.name, f"puts the cracked module into bin R1; it stays set aside for {kit.code}")

"""Monday at six: a delivery is received box by box and put where it belongs."""

from __future__ import annotations

from inventory import deliveries
from inventory.labels.label import Label
from inventory.models import Item, Place
from kitting.demo.firm import DELIVERY, Serial
from kitting.demo.opening import serial_code
from kitting.demo.stage import Stage
from kitting.demo.worker import label_of, label_of_place

BIN_OF = {"CT-MODULE": "A1", "CT-POWER": "A2", "LR-UNIT": "A3", "LR-PU": "A4"}


def receive(stage: Stage) -> None:
    """Scan each box and the serial on it at the dock, then put the boxes into their bins."""
    wanda = stage.workers["wanda"]
    units = [unit for unit in stage.opening.firm.units if unit.place == DELIVERY]
    boxes = {unit.serial: stage.opening.next_box() for unit in units}
    note = {serial_code(stage.opening, unit.item, unit.serial) for unit in units}
    stage.eyes.listed |= note | set(boxes.values())
    dock = stage.place(stage.opening.firm.dock)
    wanda.hand.subject = _at_the_door(stage, dock, len(units))
    target, _ = wanda.look(label_of_place(dock))
    labels = [label for unit in units for label in _labels(stage, unit, boxes[unit.serial])]
    read = wanda.look_ahead(labels)
    for (box, via), (serial, _) in zip(read, read, strict=True):
        wanda.send(wanda.hand.line("receive", box, via, companion=serial, target=target))
    stage.say(wanda.name, f"receives {len(units)} boxes: the label on the box, then the serial")
    wanda.hand.subject = ""
    for name in sorted({BIN_OF[unit.item] for unit in units}):
        target, _ = wanda.look(label_of_place(stage.place(name)))
        for unit in units:
            if BIN_OF[unit.item] == name:
                wanda.scan("put", label_of(boxes[unit.serial]), target=target)
    stage.say(wanda.name, "puts them away: one scan for the bin, one for each box")


def _at_the_door(stage: Stage, dock: Place, came: int) -> str:
    """Count the boxes while the driver waits; the note says one more. Return what it is about."""
    wanda = stage.workers["wanda"]
    supplier = deliveries.enter_partner(code="larkwold", name="Larkwold Supply", kind="supplier")
    carrier = deliveries.enter_partner(code="fenway", name="Fenmoor Haulage", kind="carrier")
    for partner, about, how, hours, source in (
        (supplier, "shortage", "writing", 240, "common practice"),
        (carrier, "damage", "phone", 24, "common practice"),
        (carrier, "hidden", "writing", 168, "CMR (1956) article 30"),
    ):
        deliveries.set_clock(partner, about=about, how=how, hours=hours, source=source)
    made = deliveries.enter(
        stage.opening.people["wanda"],
        note="LS-20418",
        supplier=supplier,
        carrier=carrier,
        dock=dock,
        boxes=came + 1,
    )
    wanda.hand.subject = made.subject
    wanda.tap("count_boxes", expected=("problem",), quantity=came)
    told = wanda.tap("driver_gone")
    stage.say(wanda.name, f"counts {came} boxes, the note says {came + 1}; the driver goes")
    stage.aside(told["sentence"])
    return made.subject


def _labels(stage: Stage, unit: Serial, box: str) -> tuple[Label, Label]:
    """The label outside on the box, and the serial that is printed beside it."""
    item = Item.objects.get(code=unit.item)
    pairs = (("01", stage.opening.codes[unit.item]), ("21", unit.serial))
    outside = Label("carton", f"Box of {item.name}", code=box)
    return outside, Label("unit", item.name, pairs=pairs, lines=(unit.serial,))

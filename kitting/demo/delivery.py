"""Monday at six: a delivery is received box by box and put where it belongs."""

from __future__ import annotations

from inventory.labels.label import Label
from inventory.models import Item
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
    target, _ = wanda.look(label_of_place(dock))
    labels = [label for unit in units for label in _labels(stage, unit, boxes[unit.serial])]
    read = wanda.look_ahead(labels)
    for (box, via), (serial, _) in zip(read, read, strict=True):
        wanda.send(wanda.hand.line("receive", box, via, companion=serial, target=target))
    stage.say(wanda.name, f"receives {len(units)} boxes: the label on the box, then the serial")
    for name in sorted({BIN_OF[unit.item] for unit in units}):
        target, _ = wanda.look(label_of_place(stage.place(name)))
        for unit in units:
            if BIN_OF[unit.item] == name:
                wanda.scan("put", label_of(boxes[unit.serial]), target=target)
    stage.say(wanda.name, "puts them away: one scan for the bin, one for each box")


def _labels(stage: Stage, unit: Serial, box: str) -> tuple[Label, Label]:
    """The label outside on the box, and the serial that is printed beside it."""
    item = Item.objects.get(code=unit.item)
    pairs = (("01", stage.opening.codes[unit.item]), ("21", unit.serial))
    outside = Label("carton", f"Box of {item.name}", code=box)
    return outside, Label("unit", item.name, pairs=pairs, lines=(unit.serial,))

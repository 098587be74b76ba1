"""Tuesday before seven: what a van always carries is put on its list, and brought to it."""

from __future__ import annotations

from inventory.labelling import of_item
from inventory.models import Item
from kitting import standing_list
from kitting.demo.stage import Stage
from kitting.demo.visitor import Unexpected

VAN, CODE, BIN = "Van 1", "CT-PBLANK", "C3"  # small and cheap, and without it a job stops
LEAST, UP_TO = 2, 4


def give(stage: Stage) -> None:
    """The manager fills in the van's page; the warehouse brings what the page says."""
    mona, wanda = stage.workers["mona"], stage.workers["wanda"]
    van, item = stage.place(VAN), Item.objects.get(code=CODE)
    address = f"/vans/{van.code}/top-up"
    fields = {"item": str(item.pk), "least": str(LEAST), "up_to": str(UP_TO)}
    answer = mona.browser.post(address, fields)
    if not answer.location:
        raise Unexpected(f"{address}: expected to be sent on, got {answer.words[:600]}")
    stage.say(mona.name, f"puts {item.name} on the list of {van.name}: {LEAST} to {UP_TO} always")
    (level,) = standing_list.levels(van, stage.clock.now.date())
    where = {"target": van.code, "start": stage.place(BIN).code}
    wanda.scan("put", of_item(item), quantity=level.to_bring, **where)
    stage.say(wanda.name, f"brings {level.to_bring} of it to {van.name}")

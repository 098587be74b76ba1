"""Tuesday before seven: what a van and a person's bag always carry is put on lists, and brought."""

from __future__ import annotations

from inventory.labelling import of_item
from inventory.models import Item, Person, Place
from kitting import standing_list
from kitting.demo.stage import Stage
from kitting.demo.visitor import Unexpected

VAN, CODE, BIN = "Van 1", "CT-PBLANK", "C3"  # small and cheap, and without it a job stops
LEAST, UP_TO = 2, 4
OWNER = "tariq"


def give(stage: Stage) -> None:
    """The manager fills in the pages of van and bag; the warehouse brings what the pages say."""
    van, mona = stage.place(VAN), stage.workers["mona"]
    _list(stage, f"/vans/{van.code}/top-up", van)
    owner = Person.objects.get(username=OWNER)
    address = f"/people/{owner.uid}/bag"
    _post(stage, address, {})
    bag = standing_list.bag_of(owner)
    if bag is None:
        raise Unexpected(f"{address}: expected a bag, got none")
    stage.say(mona.name, f"gives {stage.workers[OWNER].name} an own bag")
    _list(stage, address, bag)


def _list(stage: Stage, address: str, to: Place) -> None:
    mona, wanda, item = stage.workers["mona"], stage.workers["wanda"], Item.objects.get(code=CODE)
    _post(stage, address, {"item": item.code, "least": str(LEAST), "up_to": str(UP_TO)})
    stage.say(mona.name, f"puts {item.name} on the list of {to.name}: {LEAST} to {UP_TO} always")
    (level,) = standing_list.levels(to, stage.clock.now.date())
    where = {"target": to.code, "start": stage.place(BIN).code}
    wanda.scan("put", of_item(item), quantity=level.to_bring, **where)
    stage.say(wanda.name, f"brings {level.to_bring} of it to {to.name}")


def _post(stage: Stage, address: str, fields: dict[str, str]) -> None:
    answer = stage.workers["mona"].browser.post(address, fields)
    if not answer.location:
        raise Unexpected(f"{address}: expected to be sent on, got {answer.words[:600]}")

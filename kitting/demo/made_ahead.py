"""Tuesday at seven: two bags are made ahead, for kits that take all that is in one."""

from __future__ import annotations

from inventory.models import Place, PlaceKind
from kitting import bags
from kitting.demo.stage import Stage
from kitting.demo.visitor import Unexpected
from kitting.demo.worker import label_of_place

CODE, NAME, PARTS = "BAG-CAPS", "transport caps for a way down", "LR-TCAP 4"
SINCE = "2025-01-01"  # before any day on which the walk is acted out
BIN = "S2"  # where the caps lie
MADE = 2


def make(stage: Stage) -> None:
    """The manager says what a bag holds; labels are entered, and each bag is filled by a scan."""
    mona, wanda = stage.workers["mona"], stage.workers["wanda"]
    told = {"code": CODE, "name": NAME, "since": SINCE, "parts": PARTS, "content": "yes"}
    bin_ = stage.place(BIN)
    asked = {"number": str(MADE), "at": bin_.code, "labels": "yes"}
    for worker, fields in ((mona, told), (wanda, asked)):
        answer = worker.browser.post("/bags/", fields)
        if not answer.location:
            raise Unexpected(f"bags: expected to be sent on, got {answer.words[:600]}")
    empty = Place.objects.filter(kind=PlaceKind.BAG, subject="", parent=bin_).order_by("code")
    for text, via in wanda.look_ahead([label_of_place(bag) for bag in empty]):
        wanda.send(wanda.hand.line("make_bag", text, via, companion=CODE))
    stage.say(wanda.name, f"makes {len(bags.filled())} bags ahead: {NAME}, one scan each")

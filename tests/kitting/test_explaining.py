"""Why a stored kit has so many of an item: the list's reasons, the spares, where it comes from."""

from typing import Any

import pytest

from inventory.models import Item
from kitting import explaining, hand_lines, packing
from kitting.models import Job
from tests.kitting.yard import Yard

pytestmark = pytest.mark.sqlite_only  # words, the same from either database


def test_a_kit_explains_itself(yard: Yard, settings: Any) -> None:
    """The list's sum, the spare with the firm's record, shelf and box, and what is not there.

    Two modules on the floor inside: nine screws M5 (R9); a bus end is small and stops the job, so
    one more of it always goes along.
    """
    settings.KIT_CHANCE = 95
    yard.shelve("CT-SCREW5", 4)
    kit = yard.kit()
    screws, ends = explaining.told(kit, "ct-screw5"), explaining.told(kit, "bus end plug")
    assert screws.why is not None
    assert ends.why is not None

    first = screws.why.steps[0]
    assert first.parts[0].sentence == (
        "9 for holding the stack to the building (bracket screws), stack 1: the parts list has 9"
        " for 2 modules (parts list, rule R9)"
    )
    assert screws.from_where[0] == "4 from Bin 1"
    assert screws.from_where[1].endswith("not in stock by the book")
    assert [step.title for step in ends.why.steps] == ["Ends", "Spares"]
    spare = ends.why.steps[1].parts[0].sentence
    assert spare.startswith("1 spare: assumed 1 lost of ")
    assert "stops the job: one more always" in spare
    assert ends.why.sum == "2 + 1 = 3"
    assert explaining.told(kit, "CT-PBLANK").from_where[0] == "2 in the box of power unit"
    absent = explaining.told(kit, "CT-SHELF").why
    assert absent is not None
    assert absent.missing[0].endswith("is wall (it is floor).")
    assert explaining.told(kit, "CT-NONE").why is None
    assert "CT-NONE is not in the parts list" in explaining.told(kit, "CT-NONE").unlisted


def test_every_line_of_a_kit_is_explained(yard: Yard) -> None:
    """An item has a sentence for each of its lines, from what the kit keeps."""
    kit = yard.kit()
    for line in kit.lines.select_related("item"):
        told = explaining.told(kit, line.item.code).why

        assert told is not None
        assert line.quantity in {step.quantity for step in told.steps if step.step == line.step}
        assert all(part.sentence for step in told.steps for part in step.parts)


def test_a_hand_has_its_say(yard: Yard) -> None:
    """What a person changed or took off says who it was and why, beside the parts list's figure."""
    job = yard.job()
    packing.work_out_kit(job, yard.mona.person)
    line = {"job": job, "by": yard.mona.person, "reason": "longer screws are in the wall"}
    screw, bracket = (Item.objects.get(code=code) for code in ("CT-SCREW5", "CT-BRACKET"))
    hand_lines.put(item=screw, step="fix", verb="change", quantity=12, **line)
    hand_lines.put(item=bracket, step="fix", verb="drop", quantity=0, **line)
    kit = Job.objects.get().kit
    assert kit is not None
    changed, dropped = (explaining.told(kit, item.code).why for item in (screw, bracket))

    assert changed is not None
    assert changed.steps[0].parts[-1].sentence == (
        "by hand: 9 by the parts list, 12 by hand: longer screws are in the wall"
    )
    assert dropped is not None
    assert dropped.missing == (
        "2 by the parts list, taken off by hand: longer screws are in the wall (Mona).",
    )

"""The audit reads the upper house, and its state counts in the digest."""

from django.db import models

from inventory import audit
from inventory.digest import digest, state
from inventory.models import Item
from kitting import changing, hand_lines
from kitting.models import AsBuilt, Kit, KitLine
from tests.kitting.test_unboxing import carry
from tests.kitting.yard import CONFIGURATION, Yard, about


def test_a_changed_position_is_a_breach_and_changes_the_digest(yard: Yard, kit: Kit) -> None:
    """What stands follows from the events; a row changed by hand is found and left as it is."""
    carry(yard, kit, "S1")
    yard.tariq.scan("fit", "S1", position={"stack": 1, "level": 1}, **about(kit))
    clean, before = audit.run(), digest()
    AsBuilt.objects.update(level=2)
    found = [check for check in audit.run() if check.problems]

    assert not [check for check in clean if check.problems]
    assert [check.name for check in found] == ["what stands at a site follows from its events"]
    assert AsBuilt.objects.get().level == 2
    assert digest() != before


def test_the_digest_names_no_house(yard: Yard, kit: Kit) -> None:
    """Names and addresses can be erased without touching it."""
    before = digest()
    yard.site.name = yard.site.address = ""
    yard.site.save()

    assert digest() == before
    assert any(kit.code in line for line in state())


def test_a_rebuild_makes_what_stands_and_what_is_closed_anew(yard: Yard, kit: Kit) -> None:
    """Rows changed by hand are as the events say again."""
    carry(yard, kit, "S1")
    yard.tariq.scan("fit", "S1", position={"stack": 1, "level": 1}, **about(kit))
    yard.ticks(kit)
    assert yard.tariq.scan("close_kit", **about(kit)).verdict == "applied"
    before = digest()
    AsBuilt.objects.update(level=2)
    Kit.objects.update(closed_by=None)
    audit.rebuild()

    assert AsBuilt.objects.get().level == 1
    assert digest() == before


def test_a_changed_kit_is_what_its_last_change_left(yard: Yard, kit: Kit) -> None:
    """After changes by office and hand and an item renamed; a line written over is told."""
    taller = {**CONFIGURATION, "stacks": [{"modules": 3}]}
    changing.change_kit(kit, taller, yard.mona.person, "one module more")
    line = kit.lines.select_related("item").filter(spare=False).latest("order")
    more = {"verb": "change", "quantity": line.quantity + 2, "reason": "the wall crumbles"}
    hand_lines.put(kit.job, item=line.item, step=line.step, by=yard.mona.person, **more)
    Item.objects.filter(pk=line.item_id).update(name="Another name")
    clean, before = audit.run(), digest()
    KitLine.objects.filter(kit=kit, order=0).update(quantity=models.F("quantity") + 1)
    found = [check for check in audit.run() if check.problems]

    assert [check for check in clean if check.problems] == []
    assert 2 in [check.read for check in clean if check.name.startswith("changed kits")]
    assert [check.problems for check in found] == [
        (f"{kit.code} is not what its last change left",)
    ]
    assert digest() != before

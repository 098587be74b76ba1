"""How ready a kit was when: by its own movements, boxes and what was taken out again included."""

from kitting import ready_over_time
from kitting.models import Kit
from kitting.progress import fold
from tests.kitting.yard import Yard, about


def shares(kit: Kit) -> list[int]:
    return [share for _, share in ready_over_time.points(kit, fold(kit))]


def test_each_item_counts_once_it_is_packed_whole(yard: Yard, kit: Kit) -> None:
    """Half of it is nothing yet; a box counts with what is in it; back to the shelf, it sinks."""
    lines = sum(
        total.planned - total.in_boxes - total.on_van > 0 for total in fold(kit).totals.values()
    )
    assert shares(kit) == [0]
    assert ready_over_time.drawing(kit, kit.released_at) is None  # one point is no line
    yard.shelve("CT-BRACKET", 2)
    yard.wanda.scan("pick", "CT-BRACKET", quantity=1, **about(kit))
    assert shares(kit) == [0]
    yard.wanda.scan("pick", "CT-BRACKET", quantity=1, **about(kit))
    assert shares(kit) == [0, 100 // lines]
    assert ready_over_time.drawing(kit, kit.released_at) is not None
    for serial in ("S1", "S2"):
        yard.box(serial)
        yard.wanda.scan("pick", f"BOX-{serial}", **about(kit))
    assert shares(kit) == [0, 100 // lines, 200 // lines]
    yard.wanda.scan("put_back", "BOX-S2", target="BIN1", **about(kit))

    assert shares(kit)[-1] == 100 // lines

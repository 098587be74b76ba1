"""One piece per run."""

from tests.plan.small import counted, thing, way

WIRE = [thing("wire", tracking="length")]


def test_the_piece_is_the_run_and_its_ends():
    """7 m of way and 0.4 m at the ends are one piece of 7.4 m."""
    quantities, givings = counted("length", 'item = "wire"\nallowance = 400', WIRE, length=7000)

    assert quantities == {"wire": 7400}
    assert givings[0].pieces == (7400,)
    assert givings[0].words == "7000 mm + 400 mm for the ends = 7400 mm, in one piece"


def test_a_piece_counted_item_is_a_fault():
    """Only an item in mm can be cut."""
    faults = way("length", 'item = "bolt"')[1]

    assert faults == ["rule: item: expected an item in mm, got 'bolt' in piece"]

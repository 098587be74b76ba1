"""The smallest conductor that carries the current and keeps the drop, in one piece."""

import pytest

from kitting.plan.given import CannotCount
from tests.plan.small import counted, thing, way


def cable(code, area):
    conductor = {"area": area, "class": 5}
    return thing(code, tracking="length", conductor=conductor)


CABLES = [cable("c25", 2.5), cable("c4", 4), cable("c6", 6), cable("c10", 10)]
RULE = """
sizes = ["c10", "c6", "c4", "c25"]
system = "single phase"
current = 20
voltage = 230
drop_permille = 10
method = "C"
continuous = false
allowance = 500
"""


@pytest.mark.parametrize(
    ("length", "size"),
    [
        (1000, "c25"),  # 27 A carry 20 A, the run is short
        (5520, "c25"),  # 2.3 V / (2 x 20 A x 9.548 ohm/km) = 6022 mm of cut length
        (5522, "c25"),
        (5523, "c4"),
        (9208, "c4"),  # 2.3 / (40 x 5.9227) = 9708 mm
        (9209, "c6"),
        (14062, "c6"),  # 2.3 / (40 x 3.9485) = 14562 mm
        (14063, "c10"),
    ],
)
def test_the_smallest_size_within_the_drop_is_taken(length, size):
    """The drop at 70 C over the cut length decides, each size to its last millimetre."""
    assert counted("cable", RULE, CABLES, length=length)[0] == {size: length + 500}


def test_a_run_is_one_piece():
    """Two runs are two pieces, never one sum; a 7 m need is one piece of 7 m."""
    _, givings = counted("cable", RULE, CABLES, number=2, length=7000)

    assert (givings[0].quantity, givings[0].pieces) == (15000, (7500, 7500))


def test_a_continuous_load_counts_a_quarter_more():
    """24 A x 1.25 = 30 A is beyond 27 A of 2.5 mm2 (NEC 210.19(A)(1))."""
    rule = RULE.replace("current = 20", "current = 24")

    assert counted("cable", rule, CABLES, length=1000)[0] == {"c25": 1500}
    continuous = rule.replace("continuous = false", "continuous = true")
    assert counted("cable", continuous, CABLES, length=1000)[0] == {"c4": 1500}


def test_heat_around_the_cable_lowers_what_it_carries():
    """At 50 C the factor 0.71 leaves 19.2 A of 27 A, so 20 A take 4 mm2."""
    assert counted("cable", RULE + "ambient = 50", CABLES, length=1000)[0] == {"c4": 1500}


def test_beyond_the_largest_size_nothing_is_made_up():
    """No listed conductor keeps the drop over 30 m."""
    with pytest.raises(CannotCount, match="no listed conductor carries 20 A over 30500 mm"):
        counted("cable", RULE, CABLES, length=30000)


def test_a_size_without_published_figures_is_a_fault():
    """A cable of 7 mm2 is in no table."""
    faults = way("cable", RULE, [*CABLES[:3], cable("c10", 7)])[1]

    assert faults == ["rule: sizes: expected cables with a listed conductor, got 'c10'"]
